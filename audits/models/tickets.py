"""Repair tickets: what is to be mended, what it costs, who agreed, and what proved it."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal
from typing import ClassVar, Final

from django.conf import settings
from django.db import models
from django.db.models import Q

from audits.domain.faults import FAULTS, FaultKind
from audits.domain.ticket_proofs import ProofKind
from audits.domain.ticket_states import TicketState
from audits.models.catch_tests import CatchTest
from audits.models.photos import Photo
from audits.models.visits import Visit
from audits.models.water import FlowCheck
from properties.models import Property, Row, Zone
from properties.models.checks import between, one_of

FAULT_KINDS = [(kind.value, FAULTS[kind].label) for kind in FaultKind]
TICKET_STATES = [(state.value, state.value.capitalize()) for state in TicketState]
PROOF_KINDS = [(kind.value, kind.value.replace("_", " ").capitalize()) for kind in ProofKind]
LIVE_TICKET_STATES = [TicketState.OPEN, TicketState.AGREED, TicketState.BOOKED]
CENT: Final = Decimal("0.01")


class RepairTicket(Row):
    """One repair of one kind of fault in one zone (or at the property as a whole)."""

    unlogged: ClassVar[frozenset[str]] = frozenset({"agreed_by", "closing_word"})

    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="tickets")
    zone = models.ForeignKey(
        Zone, on_delete=models.PROTECT, related_name="tickets", null=True, blank=True
    )
    fault = models.CharField(max_length=40, choices=FAULT_KINDS)
    state = models.CharField(
        max_length=20, choices=TICKET_STATES, default=TicketState.OPEN, editable=False
    )
    work = models.TextField(max_length=2000, help_text="What is to be done.")
    opens_main_line = models.BooleanField(
        null=True, blank=True, help_text="Empty: as is usual for the fault."
    )
    licence_asked = models.BooleanField(
        default=False, help_text="The local code licenses this work."
    )
    agreed_by = models.CharField(max_length=200, blank=True, editable=False)
    agreed_at = models.DateTimeField(null=True, blank=True, editable=False)
    visit = models.ForeignKey(
        Visit, on_delete=models.PROTECT, related_name="booked_tickets", null=True, blank=True,
        editable=False,
    )  # fmt: skip
    mended_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+", null=True,
        blank=True, editable=False,
    )  # fmt: skip
    mended_at = models.DateTimeField(null=True, blank=True, editable=False)
    closing_word = models.CharField(
        max_length=500, blank=True, editable=False, help_text="Who declined, or why it is void."
    )

    class Meta:
        ordering = ["-id"]
        indexes = [models.Index(fields=["property", "state"], name="ticket_of_property")]
        constraints = [
            one_of("fault", FAULT_KINDS),
            one_of("state", TICKET_STATES),
            models.UniqueConstraint(
                fields=["zone", "fault"],
                condition=Q(state__in=LIVE_TICKET_STATES),
                name="ticket_lives_once_in_zone",
                violation_error_message="fault: this fault has a live ticket in this zone.",
            ),
            models.UniqueConstraint(
                fields=["property", "fault"],
                condition=Q(state__in=LIVE_TICKET_STATES, zone__isnull=True),
                name="ticket_lives_once_at_property",
                violation_error_message="fault: this fault has a live ticket at this property.",
            ),
            models.CheckConstraint(
                condition=Q(state__in=[TicketState.OPEN, TicketState.DECLINED, TicketState.VOID])
                | (~Q(agreed_by="") & Q(agreed_at__isnull=False)),
                name="ticket_agreed_has_person",
            ),
            models.CheckConstraint(
                condition=~Q(state=TicketState.BOOKED) | Q(visit__isnull=False),
                name="ticket_booked_has_visit",
            ),
            models.CheckConstraint(
                condition=~Q(state__in=[TicketState.MENDED, TicketState.PROVEN])
                | Q(mended_by__isnull=False, mended_at__isnull=False),
                name="ticket_mended_has_technician",
            ),
            models.CheckConstraint(
                condition=~Q(state__in=[TicketState.DECLINED, TicketState.VOID])
                | ~Q(closing_word=""),
                name="ticket_closed_has_word",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_fault_display()} ({self.state})"


class LineKind(models.TextChoices):
    PART = "part", "Part"
    LABOUR = "labour", "Labour"


class PriceItem(Row):
    """One entry of the company's price list."""

    retires_by: ClassVar[str] = "is_active"

    code = models.CharField(max_length=40, unique=True)
    name = models.CharField(max_length=200)
    kind = models.CharField(max_length=10, choices=LineKind.choices)
    unit = models.CharField(max_length=20, help_text="Such as: piece, hour.")
    price = models.DecimalField(max_digits=10, decimal_places=2)
    is_active = models.BooleanField(default=True)

    class Meta:
        ordering = ["code"]
        constraints = [
            one_of("kind", LineKind.choices),
            between("price", 0, 1_000_000, words="the price"),
        ]

    def __str__(self) -> str:
        return self.name


class TicketLine(Row):
    """A part or an hour on a ticket, at the price that held when it was written."""

    ticket = models.ForeignKey(RepairTicket, on_delete=models.PROTECT, related_name="lines")
    item = models.ForeignKey(PriceItem, on_delete=models.PROTECT, related_name="+")
    quantity = models.DecimalField(max_digits=8, decimal_places=2)
    unit_price = models.DecimalField(max_digits=10, decimal_places=2)
    is_struck = models.BooleanField(default=False)

    class Meta:
        ordering = ["ticket_id", "id"]
        constraints = [
            between("quantity", 0.01, 10_000, words="the quantity"),
            between("unit_price", 0, 1_000_000, words="the price"),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} x {self.item_id}"

    def amount(self) -> Decimal:
        """Return what the line costs, to the cent; a half cent is rounded up."""
        return (self.quantity * self.unit_price).quantize(CENT, rounding=ROUND_HALF_UP)


class TicketProof(Row):
    """What was seen after a repair; a fact, whether it shows the fault gone or not."""

    unlogged: ClassVar[frozenset[str]] = frozenset({"note"})

    ticket = models.ForeignKey(RepairTicket, on_delete=models.PROTECT, related_name="proofs")
    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="ticket_proofs")
    kind = models.CharField(max_length=20, choices=PROOF_KINDS)
    seen_at = models.DateTimeField()
    fault_is_gone = models.BooleanField()
    test_before = models.ForeignKey(
        CatchTest, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    test_after = models.ForeignKey(
        CatchTest, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    flow_check = models.ForeignKey(
        FlowCheck, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    photo = models.ForeignKey(
        Photo, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    note = models.CharField(max_length=500, blank=True)

    class Meta:
        ordering = ["-id"]
        constraints = [
            one_of("kind", PROOF_KINDS),
            models.CheckConstraint(
                condition=Q(
                    kind=ProofKind.PAIRED_RETEST,
                    test_before__isnull=False,
                    test_after__isnull=False,
                )
                | Q(kind=ProofKind.READING, flow_check__isnull=False)
                | Q(kind=ProofKind.PHOTO, photo__isnull=False)
                | (Q(kind=ProofKind.FUNCTION_CHECK) & ~Q(note="")),
                name="proof_has_its_evidence",
                violation_error_message=(
                    "kind: a paired retest names both tests, a reading its flow check, a photo the"
                    " photo, a function check says in the note what was tried."
                ),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} on {self.seen_at:%Y-%m-%d}"
