"""What signing in needs besides the account: recovery codes, and counts of failed attempts."""

from __future__ import annotations

from django.conf import settings
from django.db import models

from properties.domain.ids import uuid7
from properties.models.checks import one_of


class RecoveryCode(models.Model):
    """A code that stands once for the second factor. Only its hash is kept."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    staff = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="recovery_codes"
    )
    secret_hash = models.CharField(max_length=64, unique=True, editable=False)
    created_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-id"]

    def __str__(self) -> str:
        return f"recovery code of {self.staff_id}"


class CountedBy(models.TextChoices):
    ACCOUNT = "account", "Account"
    ADDRESS = "address", "Address"


class SignInCount(models.Model):
    """Attempts to sign in that failed, by account (known or not) or by network address.

    The key is a keyed hash: neither an e-mail nor an address stands here.
    """

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    key = models.CharField(max_length=64, unique=True, editable=False)
    counted_by = models.CharField(max_length=20, choices=CountedBy.choices)
    failures = models.PositiveIntegerField(default=0)
    window_ends_at = models.DateTimeField()
    locked_until = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-id"]
        indexes = [models.Index(fields=["window_ends_at"], name="sign_in_count_age")]
        constraints = [one_of("counted_by", CountedBy.choices)]

    def __str__(self) -> str:
        return f"{self.failures} failures by {self.counted_by}"
