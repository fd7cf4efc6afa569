"""What the office makes of a reminder and of a rule, and what it cannot."""

from __future__ import annotations

import datetime as dt

import pytest

from properties.domain.errors import InvalidInputError, RefusedError
from properties.models import Event
from scheduling.domain.reminder_rules import DEFAULTS
from scheduling.models import ReminderRule
from scheduling.services.reminder_rules import change_rule, make_missing_rules, rules
from scheduling.services.reminders import resume, snooze, stop
from tests import cast
from tests.scheduling.reminder_rows import make_reminder

pytestmark = pytest.mark.django_db
TODAY, DAY = cast.TODAY, dt.timedelta(days=1)


@pytest.fixture
def reminder(garden):
    return make_reminder(garden)


def acts():
    return sorted(Event.objects.values_list("act", flat=True))


def test_each_move_is_remembered_and_keeps_no_names(reminder, office):
    who = {"actor": office, "now": cast.NOW}
    snooze(reminder, until=TODAY + DAY, today=TODAY, **who)
    resume(reminder, **who)
    stop(reminder, **who)
    resume(reminder, **who)

    assert acts() == ["resumed", "resumed", "snoozed", "stopped"]
    reminder.refresh_from_db()
    assert (reminder.state, reminder.snoozed_until, reminder.revision) == ("open", None, 5)


@pytest.mark.parametrize("days", [-1, 0, 367])
def test_it_rests_from_tomorrow_up_to_a_year(reminder, office, days):
    with pytest.raises(InvalidInputError) as refused:
        snooze(reminder, until=TODAY + days * DAY, today=TODAY, actor=office, now=cast.NOW)

    assert refused.value.field == "until"
    assert acts() == []


@pytest.mark.parametrize("days", [1, 366])
def test_a_day_and_a_year_are_in_time(reminder, office, days):
    until = TODAY + days * DAY

    rests = snooze(reminder, until=until, today=TODAY, actor=office, now=cast.NOW)

    assert rests.snoozed_until == until


@pytest.mark.parametrize("state", ["done", "stopped"])
def test_what_is_over_neither_rests_nor_stops(garden, office, state):
    reminder = make_reminder(garden, state=state)

    with pytest.raises(RefusedError) as refused:
        snooze(reminder, until=TODAY + DAY, today=TODAY, actor=office, now=cast.NOW)
    with pytest.raises(RefusedError):
        stop(reminder, actor=office, now=cast.NOW)

    assert (refused.value.code, acts()) == ("reminder-state", [])


@pytest.mark.parametrize("state", ["done", "open"])
def test_only_what_was_stopped_or_snoozed_is_resumed(garden, office, state):
    with pytest.raises(RefusedError):
        resume(make_reminder(garden, state=state), actor=office, now=cast.NOW)


def test_missing_rules_are_made_with_their_defaults_and_others_are_kept(office):
    make_missing_rules(now=cast.NOW)
    ReminderRule.objects.filter(kind="frost").delete()
    ReminderRule.objects.filter(kind="licence").update(days_ahead=90)

    found = rules(now=cast.NOW)

    expected = {rule.kind: rule for rule in DEFAULTS}
    assert found.pop("licence").days_ahead == 90
    assert all(expected[kind] == rule for kind, rule in found.items())
    assert len(found) == len(DEFAULTS) - 1


def test_a_rule_is_changed_and_remembered(office):
    make_missing_rules(now=cast.NOW)
    rule = ReminderRule.objects.get(kind="agreement")

    changed = change_rule(rule, {"to_client": False, "repeat_days": 7}, actor=office, now=cast.NOW)

    assert (changed.to_client, changed.repeat_days, changed.revision) == (False, 7, 2)
    assert acts() == ["changed"]


def test_a_rule_that_cannot_be_is_refused_and_nothing_is_written(office):
    make_missing_rules(now=cast.NOW)
    rule = ReminderRule.objects.get(kind="licence")

    with pytest.raises(InvalidInputError) as refused:
        change_rule(rule, {"to_client": True, "days_ahead": 9}, actor=office, now=cast.NOW)

    assert refused.value.field == "to_client"
    assert (ReminderRule.objects.get(pk=rule.pk).days_ahead, acts()) == (60, [])


def test_what_somebody_else_changed_is_not_written_over(office):
    make_missing_rules(now=cast.NOW)
    rule = ReminderRule.objects.get(kind="licence")
    change_rule(rule, {"days_ahead": 90}, actor=office, now=cast.NOW)

    with pytest.raises(RefusedError):
        change_rule(rule, {"days_ahead": 10}, read_revision=1, actor=office, now=cast.NOW)
