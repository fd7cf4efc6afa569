"""Whose reminders are looked for together: properties or colleagues, a bounded number at a time."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, TypeVar
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import Model, QuerySet

from properties.models import Property, StaffMember
from scheduling.domain.reminder_rules import Rule
from scheduling.domain.reminder_words import Cause

AT_ONCE: Final = 200
AnyModel = TypeVar("AnyModel", bound=Model)


@dataclass(frozen=True)
class Gardens:
    """Properties with their clients, and which day it is at each."""

    rows: dict[UUID, Property]
    today: dict[UUID, dt.date]
    now: dt.datetime

    @property
    def first_today(self) -> dt.date:
        return min(self.today.values())

    @property
    def last_today(self) -> dt.date:
        return max(self.today.values())

    def date_of(self, property_id: UUID, at: dt.datetime) -> dt.date:
        """Return the day of a moment at a property."""
        return at.astimezone(ZoneInfo(self.rows[property_id].time_zone)).date()


@dataclass(frozen=True)
class Colleagues:
    """Technicians who work here, and which day it is at the company."""

    rows: dict[UUID, StaffMember]
    today: dt.date


def gardens(now: dt.datetime, *, after: UUID | None = None) -> Iterator[Gardens]:
    """Yield the properties in order of their ids, from the one after an id on."""
    last = after
    while rows := list(_after(Property.objects.select_related("customer"), last)):
        by_id = {row.pk: row for row in rows}
        today = {row.pk: now.astimezone(ZoneInfo(row.time_zone)).date() for row in rows}
        yield Gardens(by_id, today, now)
        last = rows[-1].pk


def colleagues(today: dt.date) -> Iterator[Colleagues]:
    """Yield all of the staff in order of their ids; who has left has nothing to be told."""
    last: UUID | None = None
    while rows := list(_after(StaffMember.objects.all(), last)):
        yield Colleagues({row.pk: row for row in rows}, today)
        last = rows[-1].pk


def _after(rows: QuerySet[AnyModel], last: UUID | None) -> QuerySet[AnyModel]:
    later = rows if last is None else rows.filter(pk__gt=last)
    return later.order_by("pk")[:AT_ONCE]


def of_garden(garden: Property, rule: Rule, at: str, due_date: dt.date, **subject: UUID) -> Cause:
    """Return a cause at a garden; `at` tells it from the garden's others of its kind."""
    return Cause(
        kind=rule.kind,
        key=f"{rule.kind}:{garden.pk}:{at}",
        due_date=due_date,
        whose=garden.name,
        subject={"property": garden.pk, **subject},
        client_may_hear=garden.customer.wants_notices,
    )
