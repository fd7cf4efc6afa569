"""Which zones were mended after they were measured: a retest is awaited there."""

from __future__ import annotations

import zoneinfo
from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date
from uuid import UUID

from django.db.models import Q

from audits.domain.faults import FaultKind
from audits.domain.mendings import Mending
from audits.domain.ticket_states import TicketState
from audits.models import CatchTest, EmitterCheck, Finding, RepairTicket
from audits.selectors.evidence import STARTED_STATES
from audits.selectors.mendings import MENDED_STATES, ZoneMendings
from properties.models import Zone


def mended_since(
    zones: Sequence[Zone], measured: Mapping[UUID, CatchTest | EmitterCheck]
) -> dict[UUID, date]:
    """Return the day of the newest repair since which a measurement is history, by zone.

    Two queries whatever the number of zones; zones without such a repair are left out.
    """
    known = [zone for zone in zones if zone.pk in measured]
    found = {}
    for zone, mendings in zip(known, _mendings_of(known), strict=True):
        at = mendings.cups_changed_at(measured[zone.pk])
        if at is not None:
            found[zone.pk] = at.astimezone(zoneinfo.ZoneInfo(zone.property.time_zone)).date()
    return found


def _mendings_of(zones: Sequence[Zone]) -> list[ZoneMendings]:
    if not zones:
        return []
    by_zone: dict[UUID, list[Mending]] = defaultdict(list)
    by_property: dict[UUID, list[Mending]] = defaultdict(list)
    for ticket in _mended_tickets(zones):
        if ticket.mended_at is not None:
            mending = Mending(FaultKind(ticket.fault), ticket.mended_at)
            place = by_zone[ticket.zone_id] if ticket.zone_id else by_property[ticket.property_id]
            place.append(mending)
    spot: dict[UUID | None, list[Finding]] = defaultdict(list)
    for finding in _mended_on_the_spot(zones):
        spot[finding.zone_id].append(finding)
    return [
        ZoneMendings(
            own=tuple(by_zone[zone.pk]),
            of_property=tuple(by_property[zone.property_id]),
            spot=tuple(spot[zone.pk]),
        )
        for zone in zones
    ]


def _mended_tickets(zones: Sequence[Zone]) -> list[RepairTicket]:
    of_property = Q(zone__isnull=True, property__in={zone.property_id for zone in zones})
    of_zone = Q(zone__in=[zone.pk for zone in zones])
    return list(RepairTicket.objects.filter(of_zone | of_property, state__in=MENDED_STATES))


def _mended_on_the_spot(zones: Sequence[Zone]) -> list[Finding]:
    findings = Finding.objects.filter(
        zone__in=[zone.pk for zone in zones],
        mended_on_the_spot=True,
        visit__state__in=STARTED_STATES,
    )
    return list(findings.exclude(ticket__state=TicketState.VOID))
