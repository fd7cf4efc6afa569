"""Quotes and mended work as the company's books want them: one entry for each line of a ticket."""

from __future__ import annotations

import zoneinfo
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Final

from django.db.models import QuerySet

from audits.models import RepairTicket, TicketLine
from audits.selectors.tickets import total_of
from properties.selectors.company import the_company

TICKETS_AT_ONCE: Final = 500


@dataclass(frozen=True, kw_only=True)
class QuoteEntry:
    """One line of a ticket; a ticket without lines has one entry of no amount."""

    ticket: str
    state: str
    customer: str
    property: str
    zone: str
    fault: str
    work: str
    opened_on: date
    agreed_by: str
    agreed_on: date | None
    visit_on: date | None
    mended_on: date | None
    item_code: str = ""
    item: str = ""
    kind: str = ""
    unit: str = ""
    quantity: Decimal | None = None
    unit_price: Decimal | None = None
    amount: Decimal
    currency: str


def quote_entries(tickets: QuerySet[RepairTicket]) -> Iterator[QuoteEntry]:
    """Yield the entries of tickets, read in bounded portions; struck lines are left out."""
    currency = the_company().currency
    rows = tickets.select_related("property__customer", "zone", "visit").prefetch_related(
        "lines__item"
    )
    for ticket in rows.iterator(chunk_size=TICKETS_AT_ONCE):
        lines: list[TicketLine | None] = [line for line in ticket.lines.all() if not line.is_struck]
        for line in lines or [None]:
            yield _entry(ticket, line, currency)


def _entry(ticket: RepairTicket, line: TicketLine | None, currency: str) -> QuoteEntry:
    zone = zoneinfo.ZoneInfo(ticket.property.time_zone)
    return QuoteEntry(
        ticket=str(ticket.pk),
        state=ticket.state,
        customer=ticket.property.customer.name,
        property=ticket.property.name,
        zone=ticket.zone.name if ticket.zone else "",
        fault=ticket.fault,
        work=ticket.work,
        opened_on=ticket.created_at.astimezone(zone).date(),
        agreed_by=ticket.agreed_by,
        agreed_on=_local_day(ticket.agreed_at, zone),
        visit_on=ticket.visit.planned_date if ticket.visit else None,
        mended_on=_local_day(ticket.mended_at, zone),
        item_code=line.item.code if line else "",
        item=line.item.name if line else "",
        kind=line.item.kind if line else "",
        unit=line.item.unit if line else "",
        quantity=line.quantity if line else None,
        unit_price=line.unit_price if line else None,
        amount=total_of([line] if line else []),
        currency=currency,
    )


def _local_day(moment: datetime | None, zone: zoneinfo.ZoneInfo) -> date | None:
    return moment.astimezone(zone).date() if moment else None
