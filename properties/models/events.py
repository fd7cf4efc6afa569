"""The company's memory: every act, who did it, and what changed."""

from __future__ import annotations

from django.conf import settings
from django.db import models

from properties.domain.ids import uuid7


class Event(models.Model):
    """One act, written in the transaction of the act. The database refuses changes to it.

    `before` and `after` hold only what changed; personal values stand there as "(not kept)", so
    that a client can be erased without touching his history.
    """

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    at = models.DateTimeField()
    actor = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+"
    )
    device = models.CharField(max_length=100, blank=True)
    act = models.CharField(max_length=40)
    subject_kind = models.CharField(max_length=60)
    subject_id = models.UUIDField()
    before = models.JSONField(default=dict)
    after = models.JSONField(default=dict)

    class Meta:
        ordering = ["-id"]
        indexes = [models.Index(fields=["subject_id", "id"], name="event_of_subject")]

    def __str__(self) -> str:
        return f"{self.act} {self.subject_kind} {self.subject_id}"
