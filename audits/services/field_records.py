"""Rules that everything recorded in the field shares."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Final
from uuid import UUID

from audits.models import Visit, VisitState
from properties.domain.errors import InvalidInputError, RefusedError
from properties.models import Role, StaffMember, Zone

CLOCK_TOLERANCE: Final = timedelta(hours=24)
RECORDING_STATES: Final = (VisitState.UNDER_WAY, VisitState.FINISHED)


def check_may_record(
    visit: Visit,
    *,
    actor: StaffMember,
    happened_at: datetime,
    now: datetime,
    moment_field: str = "taken_at",
) -> None:
    """Refuse a record of somebody else's visit, of one that never began, or from the future."""
    if actor.role == Role.TECHNICIAN and visit.technician_id != actor.pk:
        raise RefusedError(
            "This visit belongs to another technician.",
            code="not-your-visit", field="visit", remedy="Record at one of your own visits.",
        )  # fmt: skip
    if visit.state not in RECORDING_STATES:
        raise RefusedError(
            f"The visit is {visit.get_state_display().lower()}.",
            code="visit-state", field="visit", remedy=_remedy_of_state(visit),
        )  # fmt: skip
    check_not_future(happened_at, now=now, moment_field=moment_field)


def check_may_record_at(
    property_id: UUID,
    visit: Visit | None,
    *,
    actor: StaffMember,
    happened_at: datetime,
    now: datetime,
    moment_field: str,
) -> None:
    """Refuse a record of a property by a technician who names no visit of his there."""
    if visit is None and actor.role == Role.TECHNICIAN:
        raise InvalidInputError(
            "A technician records at a visit.",
            field="visit", remedy="Name the visit on which this happened.", code="visit-missing",
        )  # fmt: skip
    if visit is None:
        check_not_future(happened_at, now=now, moment_field=moment_field)
        return
    check_may_record(
        visit, actor=actor, happened_at=happened_at, now=now, moment_field=moment_field
    )
    if visit.property_id != property_id:
        raise InvalidInputError(
            "This visit goes to another property.",
            field="visit", remedy="Choose a visit of this property, or leave the visit out.",
        )  # fmt: skip


def check_not_future(happened_at: datetime, *, now: datetime, moment_field: str) -> None:
    """Refuse a moment to come; a phone's clock may be a day wrong."""
    if happened_at > now + CLOCK_TOLERANCE:
        raise InvalidInputError(
            "This moment lies in the future.",
            field=moment_field, remedy="Check the clock of the phone.", code="future",
        )  # fmt: skip


def _remedy_of_state(visit: Visit) -> str:
    if visit.state == VisitState.PLANNED:
        return "Start the visit, then record."
    return "Plan another visit, start it, then record."


def check_zone_of_property(zone: Zone | None, property_id: UUID) -> None:
    """Refuse a zone of another property."""
    if zone is not None and zone.property_id != property_id:
        raise InvalidInputError(
            "This zone belongs to another property.",
            field="zone", remedy="Choose a zone of the property that is visited.",
        )  # fmt: skip
