"""Work for later. The row is the truth; a queue message is only a hint that it may be due."""

from __future__ import annotations

from datetime import datetime
from typing import Final, Self

from django.conf import settings
from django.db import models
from django.db.models import Exists, F, OuterRef, Q

from properties.domain.ids import uuid7
from properties.models.checks import one_of


class JobState(models.TextChoices):
    WAITING = "waiting", "Waiting"
    RUNNING = "running", "Running"
    DONE = "done", "Done"
    PARKED = "parked", "Parked"


OPEN_STATES: Final = (JobState.WAITING, JobState.RUNNING)


class JobQuerySet(models.QuerySet["Job"]):
    def due(self, now: datetime) -> Self:
        """Waiting and due, or running on a lease that ran out (its worker died)."""
        waiting = Q(state=JobState.WAITING, due_at__lte=now)
        abandoned = Q(state=JobState.RUNNING, claimed_until__lte=now)
        return self.filter(waiting | abandoned).order_by("due_at", "id")

    def made_good(self, before: datetime) -> Self:
        """Ended before a moment, and nothing is left to see to.

        Done, or parked and done by a later job of the same kind and subject. What is parked and was
        never made good stays, however old: somebody has to look at it.
        """
        later = Job.objects.filter(
            kind=OuterRef("kind"),
            subject_id=OuterRef("subject_id"),
            state=JobState.DONE,
            ended_at__gt=OuterRef("ended_at"),
        )
        is_good = Q(state=JobState.DONE) | Q(Exists(later), state=JobState.PARKED)
        return self.filter(is_good, ended_at__lt=before).order_by("ended_at", "id")


class Job(models.Model):
    """One piece of work: a registered kind, the id of its subject, and how far it is."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    kind = models.CharField(max_length=60)
    subject_id = models.UUIDField()
    asked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+"
    )
    state = models.CharField(max_length=20, choices=JobState.choices, default=JobState.WAITING)
    attempts = models.PositiveSmallIntegerField(default=0)
    created_at = models.DateTimeField()
    due_at = models.DateTimeField()
    claimed_until = models.DateTimeField(null=True, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)
    result = models.JSONField(default=dict, blank=True)
    problem = models.JSONField(default=dict, blank=True)

    objects = JobQuerySet.as_manager()

    class Meta:
        ordering = ["-id"]
        indexes = [
            models.Index(fields=["state", "due_at"], name="job_due"),
            models.Index(fields=["kind", "subject_id"], name="job_of_subject"),
            models.Index(
                fields=["ended_at"], condition=Q(ended_at__isnull=False), name="job_ended"
            ),
        ]
        constraints = [
            one_of("state", JobState.choices),
            models.UniqueConstraint(
                F("kind"), F("subject_id"),
                condition=Q(state=JobState.WAITING),
                name="job_waits_once",
            ),
            models.CheckConstraint(
                condition=~Q(state=JobState.RUNNING) | Q(claimed_until__isnull=False),
                name="job_running_has_lease",
            ),
        ]  # fmt: skip

    def __str__(self) -> str:
        return f"{self.kind} {self.subject_id} ({self.state})"


class Heartbeat(models.Model):
    """When something that should go on for ever was last seen to."""

    name = models.CharField(max_length=40, primary_key=True)
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.name} {self.at}"
