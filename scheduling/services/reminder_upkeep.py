"""Making reminders of causes, once each, and closing those whose cause is gone."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Final
from uuid import UUID

from django.db.models import Q

from properties.models import Property, StaffMember
from scheduling.domain.reminder_rules import Audience, ReminderKind
from scheduling.domain.reminder_words import Cause
from scheduling.models import Reminder
from scheduling.models.reminders import LIVE_REMINDER_STATES, ReminderState

_KEPT: Final = (
    "state", "snoozed_until", "due_date", "since", "what", "changed_at", "revision",
)  # fmt: skip


@dataclass(frozen=True)
class Scope:
    """Whose reminders of one kind are looked at: of these gardens, or of these colleagues."""

    kind: ReminderKind
    gardens: Mapping[UUID, Property] = field(default_factory=dict)
    staff: Mapping[UUID, StaffMember] = field(default_factory=dict)

    def among(self) -> Q:
        mine = Q(property__in=self.gardens) if self.gardens else Q(staff__in=self.staff)
        return mine & Q(kind=self.kind)


@dataclass(frozen=True)
class Kept:
    """Open reminders with their causes; those that were woken today; how many were made, closed."""

    open: list[tuple[Reminder, Cause]]
    woken: frozenset[UUID]
    made: int
    closed: int


def keep_reminders(
    scope: Scope,
    causes: Iterable[Cause],
    audiences: Iterable[Audience],
    *,
    today: dt.date,
    now: dt.datetime,
) -> Kept:
    """Bring the reminders of a scope in step with their causes, in the caller's transaction.

    A garden that is retired is no cause of anything.
    """
    over = {pk for pk, garden in scope.gardens.items() if garden.retired_at is not None}
    wanted = {
        f"{cause.key}:{audience}": (cause, audience)
        for cause in causes
        if cause.subject.get("property") not in over
        for audience in audiences
        if audience is not Audience.CLIENT or cause.client_may_hear
    }
    known = scope.among() & (Q(state__in=LIVE_REMINDER_STATES) | Q(key__in=wanted))
    rows = _locked(known)
    missing = wanted.keys() - {row.key for row in rows}
    if missing:
        fresh = [_row(*wanted[key], key, now) for key in sorted(missing)]
        Reminder.objects.bulk_create(fresh, ignore_conflicts=True)
        rows += _locked(Q(key__in=missing))  # somebody else may have made them
    changed, woken = [], set()
    for row in rows:
        was = row.state
        if _step(row, wanted.get(row.key), today):
            row.changed_at, row.revision = now, row.revision + 1
            changed.append(row)
        if was == ReminderState.SNOOZED and row.state == ReminderState.OPEN:
            woken.add(row.pk)
    Reminder.objects.bulk_update(changed, _KEPT)
    return Kept(
        [(row, wanted[row.key][0]) for row in rows if row.state == ReminderState.OPEN],
        frozenset(woken),
        len(missing),
        sum(row.state == ReminderState.DONE for row in changed),
    )


def _step(row: Reminder, wanted: tuple[Cause, Audience] | None, today: dt.date) -> bool:
    """Move one reminder by its cause and the day; whether anything changed."""
    before = [getattr(row, name) for name in _KEPT]
    if wanted is None:
        row.state, row.snoozed_until = ReminderState.DONE, None
    else:
        cause = wanted[0]
        row.due_date, row.since, row.what = cause.due_date, cause.since, _short(cause)
        is_over = row.snoozed_until is not None and row.snoozed_until <= today
        if is_over or row.state == ReminderState.DONE:
            row.state, row.snoozed_until = ReminderState.OPEN, None
    return before != [getattr(row, name) for name in _KEPT]


def _locked(which: Q) -> list[Reminder]:
    """Return rows that nobody snoozes or stops until we commit."""
    return list(Reminder.objects.select_for_update().filter(which).order_by("pk"))


def _row(cause: Cause, audience: Audience, key: str, now: dt.datetime) -> Reminder:
    ids: Iterator[tuple[str, UUID]] = ((f"{name}_id", pk) for name, pk in cause.subject.items())
    return Reminder(
        kind=cause.kind, audience=audience, key=key, due_date=cause.due_date, since=cause.since,
        what=_short(cause), created_at=now, changed_at=now, **dict(ids),
    )  # fmt: skip


def _short(cause: Cause) -> str:
    return cause.what[:200]
