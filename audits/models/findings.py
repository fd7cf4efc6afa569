"""What was found to be wrong, and the tickets to mend it."""

from __future__ import annotations

from django.db import models

from audits.domain.faults import FAULTS, FaultKind, Severity
from audits.models.visits import Visit
from properties.models import Property, Row, Zone
from properties.models.checks import one_of

FAULT_KINDS = [(kind.value, FAULTS[kind].label) for kind in FaultKind]
SEVERITIES = [(severity.value, severity.value.capitalize()) for severity in Severity]


class TicketState(models.TextChoices):
    OPEN = "open", "Open"
    AGREED = "agreed", "Agreed"
    BOOKED = "booked", "Booked"
    MENDED = "mended", "Mended"
    PROVEN = "proven", "Proven"
    DECLINED = "declined", "Declined"
    VOID = "void", "Void"


LIVE_TICKET_STATES = [TicketState.OPEN, TicketState.AGREED, TicketState.BOOKED]


class RepairTicket(Row):
    """One repair of one kind of fault in one zone (or at the property as a whole)."""

    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="tickets")
    zone = models.ForeignKey(
        Zone, on_delete=models.PROTECT, related_name="tickets", null=True, blank=True
    )
    fault = models.CharField(max_length=40, choices=FAULT_KINDS)
    state = models.CharField(
        max_length=20, choices=TicketState.choices, default=TicketState.OPEN, editable=False
    )
    work = models.TextField(max_length=2000, help_text="What is to be done.")

    class Meta:
        ordering = ["-id"]
        indexes = [models.Index(fields=["property", "state"], name="ticket_of_property")]
        constraints = [
            one_of("fault", FAULT_KINDS),
            one_of("state", TicketState.choices),
            models.UniqueConstraint(
                fields=["zone", "fault"],
                condition=models.Q(state__in=LIVE_TICKET_STATES),
                name="ticket_lives_once_in_zone",
                violation_error_message="fault: this fault has a live ticket in this zone.",
            ),
            models.UniqueConstraint(
                fields=["property", "fault"],
                condition=models.Q(state__in=LIVE_TICKET_STATES, zone__isnull=True),
                name="ticket_lives_once_at_property",
                violation_error_message="fault: this fault has a live ticket at this property.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_fault_display()} ({self.state})"


class Finding(Row):
    """A fault on a head, in a zone or at the property, seen at a visit. A fact, never edited."""

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
