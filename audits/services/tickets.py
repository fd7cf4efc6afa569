"""Tickets out of findings: one for each kind of fault in a zone, whatever the number of heads."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db import transaction

from audits.domain.faults import FAULTS, FaultKind
from audits.models import Finding, RepairTicket, TicketState, Visit
from audits.models.tickets import LIVE_TICKET_STATES
from audits.services.field_records import check_zone_of_property
from properties.domain.errors import RefusedError
from properties.models import StaffMember
from properties.services.rows import add_row, change_row, change_what_differs


def open_ticket(values: Mapping[str, Any], *, actor: StaffMember, now: datetime) -> RepairTicket:
    """Open a ticket by hand."""
    check_zone_of_property(values.get("zone"), values["property"].pk)
    work = values.get("work") or FAULTS[FaultKind(values["fault"])].repair
    return add_row(RepairTicket, {**values, "work": work}, actor=actor, now=now, act="opened")


@transaction.atomic
def change_ticket(
    ticket: RepairTicket,
    changes: Mapping[str, Any],
    *,
    read_revision: int | None = None,
    actor: StaffMember,
    now: datetime,
) -> RepairTicket:
    """Put the work of an open ticket in other words; what a client agreed to stays as it was."""
    held = RepairTicket.objects.select_for_update().get(pk=ticket.pk)
    fresh = [name for name, value in changes.items() if getattr(held, name) != value]
    if fresh and held.state != TicketState.OPEN:
        raise RefusedError(
            f"This ticket is {held.get_state_display().lower()}.",
            code="ticket-state", field=fresh[0],
            remedy="Void it with a reason, and open a new one.",
        )  # fmt: skip
    return change_what_differs(held, changes, read_revision=read_revision, actor=actor, now=now)


@transaction.atomic
def open_tickets_of_visit(visit: Visit, *, actor: StaffMember, now: datetime) -> list[RepairTicket]:
    """Put every unmended finding of a visit on the live ticket of its fault, or on a new one."""
    findings = visit.findings.filter(mended_on_the_spot=False, ticket=None).order_by("id")
    tickets = []
    for finding in findings:
        ticket = _live_ticket(finding, visit) or open_ticket(
            {"property": visit.property, "zone": finding.zone, "fault": finding.fault},
            actor=actor,
            now=now,
        )
        change_row(finding, {"ticket": ticket}, actor=actor, now=now, act="put on a ticket")
        tickets.append(ticket)
    return tickets


def _live_ticket(finding: Finding, visit: Visit) -> RepairTicket | None:
    return RepairTicket.objects.filter(
        property=visit.property_id,
        zone=finding.zone_id,
        fault=finding.fault,
        state__in=LIVE_TICKET_STATES,
    ).first()
