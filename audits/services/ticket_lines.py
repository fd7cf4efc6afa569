"""Parts and labour on a ticket: written at the price of the day, struck but never deleted."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction

from audits.domain.ticket_states import MOVES, TicketState
from audits.models import PriceItem, RepairTicket, TicketLine
from properties.domain.errors import RefusedError
from properties.models import StaffMember
from properties.services.rows import add_row, change_row


@transaction.atomic
def add_ticket_line(
    ticket: RepairTicket, values: Mapping[str, Any], *, actor: StaffMember, now: datetime
) -> TicketLine:
    """Write a part or an hour on a ticket; its price stays as it is now, whatever the list says."""
    _require_not_closed(ticket.pk)
    # Held, so that nobody retires it or puts another price on it before the line is stored.
    item = PriceItem.objects.select_for_update().get(pk=values["item"].pk)
    if not item.is_active:
        raise RefusedError(
            f"{item.name} is no longer on the price list.",
            code="item-retired", field="item", remedy="Choose an item that is on the list.",
        )  # fmt: skip
    frozen = {**values, "ticket": ticket, "unit_price": item.price}
    return add_row(TicketLine, frozen, actor=actor, now=now, act="written")


@transaction.atomic
def strike_ticket_line(line: TicketLine, *, actor: StaffMember, now: datetime) -> TicketLine:
    """Strike a line: it stays to be read and costs nothing."""
    _require_not_closed(line.ticket_id)
    if line.is_struck:
        raise RefusedError(
            "This line is struck already.",
            code="line-struck", field="is_struck", remedy="Write a new line if it is wanted again.",
        )  # fmt: skip
    return change_row(line, {"is_struck": True}, actor=actor, now=now, act="struck")


def _require_not_closed(ticket_id: UUID) -> None:
    """Hold the ticket until the line is stored, so that nobody closes it in between."""
    ticket = RepairTicket.objects.select_for_update().get(pk=ticket_id)
    if not MOVES[TicketState(ticket.state)]:
        raise RefusedError(
            f"The ticket is {ticket.state}: its lines stay as they are.",
            code="ticket-closed", field="ticket", remedy="Open a new ticket for further work.",
        )  # fmt: skip
