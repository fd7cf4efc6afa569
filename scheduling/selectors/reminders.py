"""Which causes there are for each kind, what the office's list says, and what clients got."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Collection, Iterator
from functools import partial
from typing import Final
from uuid import UUID

from django.db.models import Count, QuerySet

from audits.models import VisitKind
from properties.domain.units import System
from scheduling.domain.reminder_rules import ReminderKind, Rule
from scheduling.domain.reminder_words import Cause, LineFacts, reminder_line
from scheduling.models import Notice, NoticeKind, NoticeState, Reminder
from scheduling.selectors import reminder_audits, reminder_causes, reminder_visits
from scheduling.selectors.reminder_batches import Colleagues, Gardens
from scheduling.selectors.reminder_frosts import frost_causes

URGENT: Final = (NoticeKind.FROST, NoticeKind.HEAT, NoticeKind.DROUGHT)
"""What a client must hear of however much he got."""

OfGardens = Callable[[Gardens, Rule], Iterator[Cause]]
OfColleagues = Callable[[Colleagues, Rule], Iterator[Cause]]

GARDEN_CAUSES: Final[dict[ReminderKind, OfGardens]] = {
    ReminderKind.FROST: frost_causes,
    ReminderKind.APPOINTMENT: reminder_visits.appointment_causes,
    ReminderKind.BACKFLOW_TEST: reminder_causes.backflow_causes,
    ReminderKind.SEASON_START: partial(reminder_causes.season_causes, kind=VisitKind.SEASON_START),
    ReminderKind.WINTER_SHUT_DOWN: partial(
        reminder_causes.season_causes, kind=VisitKind.WINTER_SHUT_DOWN
    ),
    ReminderKind.AGREEMENT: reminder_causes.agreement_causes,
    ReminderKind.FOUND_PROGRAM: reminder_causes.found_program_causes,
    ReminderKind.AUDIT_RETEST: reminder_audits.audit_retest_causes,
    ReminderKind.AUDIT_UNIFORMITY: reminder_audits.audit_uniformity_causes,
    ReminderKind.AUDIT_AGE: reminder_audits.audit_age_causes,
    ReminderKind.AUDIT_SEASON: reminder_audits.audit_season_causes,
}
COLLEAGUE_CAUSES: Final[dict[ReminderKind, OfColleagues]] = {
    ReminderKind.VISITS_TOMORROW: reminder_visits.visits_tomorrow_causes,
    ReminderKind.LICENCE: reminder_visits.licence_causes,
}


def with_names(rows: QuerySet[Reminder]) -> QuerySet[Reminder]:
    """Read with the reminders whom they are about, in the same query."""
    return rows.select_related("property", "staff")


def line_facts(reminder: Reminder) -> LineFacts:
    """Return what the line of a reminder is made of; it should come out of `with_names`."""
    return LineFacts(
        ReminderKind(reminder.kind),
        str(reminder.property or reminder.staff),
        reminder.what,
        reminder.due_date,
        reminder.since,
    )


def line_of(reminder: Reminder, system: System) -> str:
    """Return a reminder in one sentence."""
    return reminder_line(line_facts(reminder), system)


def notices_since(customer_ids: Collection[UUID], since: dt.datetime) -> dict[UUID, int]:
    """Return how many notices clients were queued since a moment, but for the urgent ones."""
    rows = Notice.objects.filter(customer__in=customer_ids, created_at__gte=since)
    counted = rows.exclude(kind__in=URGENT).exclude(state=NoticeState.HELD).order_by()
    return dict(
        counted.values("customer").annotate(count=Count("pk")).values_list("customer", "count")
    )
