"""What was found to be wrong."""

from __future__ import annotations

from typing import ClassVar

from django.db import models

from audits.domain.faults import Severity
from audits.models.tickets import FAULT_KINDS, RepairTicket
from audits.models.visits import Visit
from properties.models import Row, Zone
from properties.models.checks import one_of

SEVERITIES = [(severity.value, severity.value.capitalize()) for severity in Severity]


class Finding(Row):
    """A fault on a head, in a zone or at the property, seen at a visit. A fact, never edited."""

    unlogged: ClassVar[frozenset[str]] = frozenset({"note"})

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="findings")
    zone = models.ForeignKey(
        Zone, on_delete=models.PROTECT, related_name="findings", null=True, blank=True
    )
    fault = models.CharField(max_length=40, choices=FAULT_KINDS)
    severity = models.CharField(max_length=10, choices=SEVERITIES)
    count = models.PositiveSmallIntegerField(default=1, help_text="How many heads have it.")
    where = models.CharField(max_length=200, blank=True, help_text="Such as: third along the walk.")
    note = models.TextField(blank=True, max_length=2000)
    mended_on_the_spot = models.BooleanField(default=False)
    seen_at = models.DateTimeField()
    ticket = models.ForeignKey(
        RepairTicket, on_delete=models.PROTECT, related_name="findings", null=True, blank=True,
        editable=False,
    )  # fmt: skip

    class Meta:
        ordering = ["-seen_at", "-id"]
        constraints = [
            one_of("fault", FAULT_KINDS),
            one_of("severity", SEVERITIES),
            models.CheckConstraint(
                condition=models.Q(mended_on_the_spot=False) | models.Q(ticket__isnull=True),
                name="finding_mended_needs_no_ticket",
            ),
            models.CheckConstraint(condition=models.Q(count__gte=1), name="finding_count"),
        ]

    def __str__(self) -> str:
        return self.get_fault_display()
