"""Causes to remind of a property: seasons, backflow tests, agreements, found programs.

Each looks at one batch in a number of queries that does not grow with it.
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import Any, Final
from uuid import UUID

from audits.domain.faults import FAULTS, FaultKind
from audits.models import (
    ProgramSetting,
    RepairTicket,
    SettingSource,
    TicketState,
    Visit,
    VisitKind,
    VisitState,
)
from properties.models import Controller
from scheduling.domain.reminder_rules import Rule
from scheduling.domain.reminder_words import Cause
from scheduling.models import ControllerProgram, Notice, NoticeKind, NoticeState
from scheduling.selectors.reminder_batches import Gardens, of_garden

MOST_FAULTS: Final = 3
_SEASON_REACH: Final = dt.timedelta(days=120)
"""A visit so near a season's date belongs to that season."""


def season_causes(batch: Gardens, rule: Rule, *, kind: VisitKind) -> Iterator[Cause]:
    """Yield gardens with a controller whose season is near without a visit that starts or ends it.

    A visit that was planned for a day before today, and not made, is none.
    """
    dates = {pk: rule.season_date(today) for pk, today in batch.today.items()}
    near = {pk: date for pk, date in dates.items() if date is not None}
    if not near:
        return
    visited = _visits_of_season(batch, near, kind)
    with_controller = set(
        Controller.objects.filter(property__in=near).values_list("property", flat=True)
    )
    for pk, date in near.items():
        if pk in with_controller and pk not in visited:
            yield of_garden(batch.rows[pk], rule, f"{date}", date)


def _visits_of_season(batch: Gardens, near: dict[UUID, dt.date], kind: VisitKind) -> set[UUID]:
    visits = Visit.objects.filter(
        property__in=near,
        kind=kind,
        planned_date__range=(
            min(near.values()) - _SEASON_REACH,
            max(near.values()) + _SEASON_REACH,
        ),
    )
    return {
        pk
        for pk, date, state in visits.values_list("property", "planned_date", "state")
        if abs(date - near[pk]) <= _SEASON_REACH
        if state in (VisitState.FINISHED, VisitState.UNDER_WAY)
        or (state == VisitState.PLANNED and date >= batch.today[pk])
    }


def backflow_causes(batch: Gardens, rule: Rule) -> Iterator[Cause]:
    """Yield gardens whose backflow assembly is to be tested; none is known without a last test."""
    for pk, garden in batch.rows.items():
        tested = garden.backflow_tested_on
        if tested is None:
            continue
        due = tested + dt.timedelta(days=rule.after_days)
        if rule.is_near(due, batch.today[pk]):
            yield replace(of_garden(garden, rule, f"{tested}", due), since=tested)


def agreement_causes(batch: Gardens, rule: Rule) -> Iterator[Cause]:
    """Yield gardens with tickets that nobody agreed to, each by the oldest of them."""
    tickets = RepairTicket.objects.filter(property__in=batch.rows, state=TicketState.OPEN)
    yield from oldest_tickets(batch, rule, tickets, "created_at")


def oldest_tickets(
    batch: Gardens, rule: Rule, tickets: Iterable[RepairTicket], moment: str
) -> Iterator[Cause]:
    """Yield gardens by the oldest of their tickets, naming the faults of all of them."""
    by_garden: dict[UUID, list[RepairTicket]] = defaultdict(list)
    for ticket in sorted(tickets, key=lambda each: (getattr(each, moment), each.pk)):
        by_garden[ticket.property_id].append(ticket)
    for pk, rows in by_garden.items():
        since = batch.date_of(pk, getattr(rows[0], moment))
        due = since + dt.timedelta(days=rule.after_days)
        if rule.is_near(due, batch.today[pk]):
            oldest = rows[0].pk
            cause = of_garden(batch.rows[pk], rule, f"{oldest}", due, ticket=oldest)
            yield replace(cause, since=since, what=_faults(rows))


def _faults(tickets: list[RepairTicket]) -> str:
    labels = list(dict.fromkeys(FAULTS[FaultKind(each.fault)].label for each in tickets))
    rest = len(labels) - MOST_FAULTS
    more = [f"and {rest} more"] if rest > 0 else []
    return ", ".join([*labels[:MOST_FAULTS], *more]).lower()


def found_program_causes(batch: Gardens, rule: Rule) -> Iterator[Cause]:
    """Yield controllers that run as found though new settings were fitted, or told the client.

    Where we set the controller ourselves it is no business of the client.
    """
    found = _found_settings(batch)
    if not found:
        return
    first = min(setting.created_at for setting in found)
    fitted = _first_after(
        ControllerProgram.objects.filter(
            controller__in=[each.controller_id for each in found], created_at__gt=first
        ).values_list("controller", "created_at")
    )
    told = _first_after(
        Notice.objects.filter(
            property__in={each.controller.property_id for each in found}, sent_at__gt=first,
            kind__in=(NoticeKind.MONTHLY, NoticeKind.CHANGE), state=NoticeState.SENT,
        ).values_list("property", "sent_at")
    )  # fmt: skip
    for setting in found:
        controller = setting.controller
        moments = [*fitted[controller.pk], *told[controller.property_id]]
        since = min((at for at in moments if at > setting.created_at), default=None)
        if since is not None:
            yield from _unchanged(batch, rule, setting, since)


def _first_after(rows: Iterable[tuple[Any, Any]]) -> dict[UUID, list[dt.datetime]]:
    moments: dict[UUID, list[dt.datetime]] = defaultdict(list)
    for pk, at in rows:
        moments[pk].append(at)
    return moments


def _found_settings(batch: Gardens) -> list[ProgramSetting]:
    """Return the newest setting of each controller, where it is the one that we found."""
    settings = ProgramSetting.objects.filter(controller__property__in=batch.rows)
    newest: dict[UUID, ProgramSetting] = {}
    for setting in settings.select_related("controller").order_by("since", "id"):
        newest[setting.controller_id] = setting
    return [each for each in newest.values() if each.source == SettingSource.FOUND]


def _unchanged(
    batch: Gardens, rule: Rule, setting: ProgramSetting, told_at: dt.datetime
) -> Iterator[Cause]:
    controller = setting.controller
    garden = batch.rows[controller.property_id]
    since = batch.date_of(garden.pk, told_at)
    due = since + dt.timedelta(days=rule.after_days)
    if rule.is_near(due, batch.today[garden.pk]):
        cause = of_garden(garden, rule, f"{setting.pk}", due, controller=controller.pk)
        may_hear = cause.client_may_hear and not garden.may_change_program
        yield replace(cause, since=since, what=controller.name, client_may_hear=may_hear)
