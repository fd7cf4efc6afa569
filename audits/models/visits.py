"""Visits: who goes where on which day, and how it went."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q

from audits.domain.visit_checklists import VisitKind
from properties.models import Property, Row
from properties.models.checks import one_of

VISIT_KINDS = [(kind.value, kind.value.replace("_", " ").capitalize()) for kind in VisitKind]


class VisitState(models.TextChoices):
    PLANNED = "planned", "Planned"
    UNDER_WAY = "under_way", "Under way"
    FINISHED = "finished", "Finished"
    MISSED = "missed", "Missed"
    CALLED_OFF = "called_off", "Called off"


class Visit(Row):
    """One visit of one technician at one property."""

    unlogged: ClassVar[frozenset[str]] = frozenset({"notes"})

    needs_live: ClassVar[tuple[str, ...]] = ("property",)

    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="visits")
    technician = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="visits"
    )
    kind = models.CharField(max_length=20, choices=VISIT_KINDS, default=VisitKind.AUDIT)
    state = models.CharField(
        max_length=20, choices=VisitState.choices, default=VisitState.PLANNED, editable=False
    )
    planned_date = models.DateField()
    started_at = models.DateTimeField(null=True, blank=True, editable=False)
    finished_at = models.DateTimeField(null=True, blank=True, editable=False)
    notes = models.TextField(blank=True, max_length=4000)

    class Meta:
        ordering = ["-planned_date", "-id"]
        indexes = [
            models.Index(fields=["technician", "planned_date"], name="visit_of_technician"),
            models.Index(fields=["property", "planned_date"], name="visit_of_property"),
            models.Index(fields=["planned_date", "id"], name="visit_by_day"),
            models.Index(
                fields=["property", "-planned_date"],
                condition=Q(kind=VisitKind.AUDIT, state=VisitState.FINISHED),
                name="visit_that_audited",
            ),
        ]
        constraints = [
            one_of("kind", VISIT_KINDS),
            one_of("state", VisitState.choices),
            models.CheckConstraint(
                condition=~Q(state__in=[VisitState.UNDER_WAY, VisitState.FINISHED])
                | Q(started_at__isnull=False),
                name="visit_under_way_has_start",
            ),
            models.CheckConstraint(
                condition=Q(state=VisitState.FINISHED, finished_at__isnull=False)
                | (~Q(state=VisitState.FINISHED) & Q(finished_at__isnull=True)),
                name="visit_finished_has_end",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} on {self.planned_date}"
