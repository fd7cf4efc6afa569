"""Addresses by which a client comes in without a password."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from properties.domain.ids import uuid7
from properties.models import Customer
from properties.models.checks import one_of


class LinkPurpose(models.TextChoices):
    STOP_NOTICES = "stop_notices", "Stop notices"


class ClientLink(models.Model):
    """One link: the address carries its id and a code over id, purpose and version.

    A higher version makes all addresses handed out before worthless.
    """

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="links")
    purpose = models.CharField(max_length=20, choices=LinkPurpose.choices)
    version = models.PositiveSmallIntegerField(default=1)
    created_at = models.DateTimeField()
    expires_at = models.DateTimeField(null=True, blank=True)
    revoked_at = models.DateTimeField(null=True, blank=True)
    last_used_at = models.DateTimeField(null=True, blank=True)
    uses = models.PositiveIntegerField(default=0)

    class Meta:
        ordering = ["-id"]
        constraints = [
            one_of("purpose", LinkPurpose.choices),
            models.UniqueConstraint(
                fields=["customer", "purpose"],
                condition=Q(purpose=LinkPurpose.STOP_NOTICES),
                name="link_to_stop_once",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_purpose_display()} of {self.customer_id}"
