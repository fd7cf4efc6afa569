"""The life of a reminder, in the hands of the office.

open -> snoozed -> open      not before a date
open, snoozed -> stopped     never again, though the cause stays
stopped, snoozed -> open     after all
open, snoozed -> done        by itself, when the cause is gone
"""

from __future__ import annotations

import datetime as dt
from typing import Final

from django.db import transaction

from properties.domain.errors import InvalidInputError, RefusedError
from properties.models import StaffMember
from properties.services.rows import change_row
from scheduling.models import Reminder
from scheduling.models.reminders import LIVE_REMINDER_STATES, ReminderState

LONGEST_SNOOZE: Final = dt.timedelta(days=366)


@transaction.atomic
def snooze(
    reminder: Reminder, *, until: dt.date, today: dt.date, actor: StaffMember, now: dt.datetime
) -> Reminder:
    """Let a reminder rest until a date of the company's clock, on which it is told again."""
    if not today < until <= today + LONGEST_SNOOZE:
        raise InvalidInputError(
            f"A reminder cannot rest until {until}.",
            field="until", code="snooze-date", remedy="Give a day from tomorrow to a year ahead.",
        )  # fmt: skip
    held = _held(reminder, LIVE_REMINDER_STATES, "snoozed")
    changes = {"state": ReminderState.SNOOZED, "snoozed_until": until}
    return change_row(held, changes, actor=actor, now=now, act="snoozed")


@transaction.atomic
def stop(reminder: Reminder, *, actor: StaffMember, now: dt.datetime) -> Reminder:
    """Tell it no more, though the cause stays."""
    held = _held(reminder, LIVE_REMINDER_STATES, "stopped")
    changes = {"state": ReminderState.STOPPED, "snoozed_until": None}
    return change_row(held, changes, actor=actor, now=now, act="stopped")


@transaction.atomic
def resume(reminder: Reminder, *, actor: StaffMember, now: dt.datetime) -> Reminder:
    """Open again what was stopped or snoozed."""
    held = _held(reminder, (ReminderState.STOPPED, ReminderState.SNOOZED), "resumed")
    changes = {"state": ReminderState.OPEN, "snoozed_until": None}
    return change_row(held, changes, actor=actor, now=now, act="resumed")


def _held(reminder: Reminder, states: tuple[ReminderState, ...], act: str) -> Reminder:
    held = Reminder.objects.select_for_update(of=("self",)).get(pk=reminder.pk)
    if held.state not in states:
        raise RefusedError(
            f"A reminder that is {held.get_state_display().lower()} cannot be {act}.",
            code="reminder-state", field="state",
            remedy=f"It must be {' or '.join(state.label.lower() for state in states)} for that.",
        )  # fmt: skip
    return held
