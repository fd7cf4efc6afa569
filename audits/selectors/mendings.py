"""What was mended in a zone, by ticket or on the spot, and what that makes history."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from django.db.models import Q

from audits.domain.faults import FaultKind
from audits.domain.mendings import Mending, cups_changed_at, flow_is_history
from audits.domain.ticket_states import TicketState
from audits.models import CatchTest, EmitterCheck, Finding, FlowCheck, RepairTicket
from properties.models import Zone

MENDED_STATES: Final = (TicketState.MENDED, TicketState.PROVEN)


@dataclass(frozen=True)
class ZoneMendings:
    """Repairs of a zone: by its own tickets, by those of the property as a whole, on the spot."""

    own: tuple[Mending, ...]
    of_property: tuple[Mending, ...]
    spot: tuple[Finding, ...]

    def last_by_fault(self) -> dict[str, datetime]:
        """Return when each fault of the zone was mended last by a ticket of its own."""
        by_moment = sorted(self.own, key=lambda mending: mending.at)
        return {mending.fault.value: mending.at for mending in by_moment}

    def tells_of_now(self, check: FlowCheck | None) -> bool:
        """Return whether no repair since a flow check changed what it measured."""
        spot = tuple(_mending(finding) for finding in self.spot)
        mended = (*self.own, *self.of_property, *spot)
        return check is not None and not flow_is_history(check.taken_at, mended)

    def cups_tell_of_now(self, test: CatchTest | None) -> bool:
        """Return whether no repair since a catch test changed what its cups would catch."""
        return test is not None and self.cups_changed_at(test) is None

    def cups_changed_at(self, test: CatchTest | EmitterCheck) -> datetime | None:
        """Return when the newest repair changed what cups, or emitters, would give; or None.

        Of what was mended on the spot at the visit of the test, the word of the technician
        counts: he says with the test whether it was before.
        """
        spot = [_mending(each) for each in self.spot if each.visit_id != test.visit_id]
        return cups_changed_at(test.taken_at, (*self.own, *self.of_property, *spot))


def zone_mendings(zone: Zone, findings: Sequence[Finding]) -> ZoneMendings:
    """Return the repairs of a zone; its findings come from the caller."""
    tickets = RepairTicket.objects.filter(
        Q(zone=zone) | Q(zone__isnull=True, property=zone.property_id), state__in=MENDED_STATES
    )
    rows = list(tickets.values_list("zone", "fault", "mended_at").order_by())
    own = tuple(Mending(FaultKind(fault), at) for of, fault, at in rows if of and at)
    shared = tuple(Mending(FaultKind(fault), at) for of, fault, at in rows if not of and at)
    return ZoneMendings(own, shared, tuple(each for each in findings if each.mended_on_the_spot))


def _mending(finding: Finding) -> Mending:
    return Mending(FaultKind(finding.fault), finding.seen_at)
