"""The life of a visit: planned, under way, finished; or missed, or called off."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db import transaction
from django.db.models import F

from audits.models import TicketState, Visit, VisitState
from audits.services.ticket_moves import unbook_ticket
from audits.services.tickets import open_tickets_of_visit
from audits.signals import visit_finished
from properties.domain.errors import InvalidInputError, RefusedError
from properties.models import Role, StaffMember
from properties.services.events import record_event, snapshot
from properties.services.rows import add_row, change_what_differs


def plan_visit(values: Mapping[str, Any], *, actor: StaffMember, now: datetime) -> Visit:
    """Plan a visit for a technician who works here."""
    _check_technician(values["technician"])
    return add_row(Visit, values, actor=actor, now=now, act="planned")


@transaction.atomic
def change_visit(
    visit: Visit,
    changes: Mapping[str, Any],
    *,
    read_revision: int | None = None,
    actor: StaffMember,
    now: datetime,
) -> Visit:
    """Change a planned visit; of any other one the notes alone, for it is what it was."""
    held = Visit.objects.select_for_update().get(pk=visit.pk)
    fresh = {name: value for name, value in changes.items() if getattr(held, name) != value}
    settled = [name for name in fresh if name != "notes"]
    if settled and held.state != VisitState.PLANNED:
        raise RefusedError(
            f"A visit that is {held.get_state_display().lower()} is not planned anew.",
            code="visit-state", field=settled[0], remedy="Change its notes, or plan another one.",
        )  # fmt: skip
    if "technician" in fresh:
        _check_technician(fresh["technician"])
    return change_what_differs(held, fresh, read_revision=read_revision, actor=actor, now=now)


def _check_technician(technician: StaffMember) -> None:
    if technician.role != Role.TECHNICIAN or not technician.is_active:
        raise InvalidInputError(
            f"{technician.name} is not a working technician.",
            field="technician", remedy="Choose an active member of staff of role technician.",
        )  # fmt: skip


@transaction.atomic
def start_visit(visit: Visit, *, actor: StaffMember, now: datetime) -> Visit:
    """Begin a planned visit."""
    return _move(
        visit, [VisitState.PLANNED], VisitState.UNDER_WAY, actor=actor, now=now, started_at=now
    )


@transaction.atomic
def finish_visit(visit: Visit, *, actor: StaffMember, now: datetime) -> Visit:
    """End a visit: its unmended findings become tickets, and the apps above hear of it."""
    moved = _move(
        visit, [VisitState.UNDER_WAY], VisitState.FINISHED, actor=actor, now=now, finished_at=now
    )
    open_tickets_of_visit(moved, actor=actor, now=now)
    visit_finished.send(Visit, visit=moved, actor=actor, now=now)
    return moved


@transaction.atomic
def call_off_visit(visit: Visit, *, actor: StaffMember, now: datetime) -> Visit:
    """Call off a visit that has not begun; repairs booked on it wait for another one."""
    moved = _move(visit, [VisitState.PLANNED], VisitState.CALLED_OFF, actor=actor, now=now)
    return _unbook_tickets(moved, "The visit was called off.", actor=actor, now=now)


@transaction.atomic
def miss_visit(visit: Visit, *, actor: StaffMember, now: datetime) -> Visit:
    """Note that a planned visit did not take place; its repairs wait for another one."""
    moved = _move(visit, [VisitState.PLANNED], VisitState.MISSED, actor=actor, now=now)
    return _unbook_tickets(moved, "The visit was missed.", actor=actor, now=now)


def _unbook_tickets(visit: Visit, reason: str, *, actor: StaffMember, now: datetime) -> Visit:
    for ticket in visit.booked_tickets.filter(state=TicketState.BOOKED):
        unbook_ticket(ticket, reason=reason, actor=actor, now=now)
    return visit


def _move(
    visit: Visit,
    allowed: list[VisitState],
    target: VisitState,
    *,
    actor: StaffMember,
    now: datetime,
    **moments: datetime,
) -> Visit:
    """Move by conditional update: of two who try at once, one wins and the other is told."""
    before = snapshot(visit)
    rows = Visit.objects.filter(pk=visit.pk, state__in=allowed)
    changes = {"state": target, "changed_at": now, "revision": F("revision") + 1, **moments}
    if not rows.update(**changes):
        state = Visit.objects.get(pk=visit.pk).get_state_display().lower()
        needed = " or ".join(wanted.label.lower() for wanted in allowed)
        raise RefusedError(
            f"A visit that is {state} cannot become {target.label.lower()}.",
            code="visit-state", field="state", remedy=f"It must be {needed} first.",
        )  # fmt: skip
    moved = Visit.objects.get(pk=visit.pk)
    record_event(
        moved, act=target.value, actor=actor, now=now, before=before, after=snapshot(moved)
    )
    return moved
