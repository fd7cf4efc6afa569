"""What was answered to a request, so that the same request again is answered and not done twice."""

from __future__ import annotations

from typing import Final

from django.conf import settings
from django.db import models
from django.db.models import Q

from properties.domain.ids import uuid7

LONGEST_KEY: Final = 255


class IdempotencyKey(models.Model):
    """A request that was done: under its caller's key, or under the id that its row was given.

    Of what was sent only a digest is kept. Of a row that was made nothing else is: the row itself
    is the answer, so that no contact value stands here.
    """

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    caller = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+",
        help_text="Nobody: the key is the id of a row, whoever sends it.",
    )  # fmt: skip
    key = models.CharField(max_length=LONGEST_KEY)
    request_sha256 = models.CharField(max_length=64)
    status = models.PositiveSmallIntegerField()
    body = models.JSONField(null=True)
    created_at = models.DateTimeField()

    class Meta:
        ordering = ["-id"]
        indexes = [models.Index(fields=["created_at"], name="idempotency_key_age")]
        constraints = [
            models.UniqueConstraint(fields=["caller", "key"], name="idempotency_key_once"),
            models.UniqueConstraint(
                fields=["key"], condition=Q(caller__isnull=True), name="idempotency_row_once"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.key} ({self.status})"
