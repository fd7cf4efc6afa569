"""When somebody is reminded. All dates are constructed (arithmetic)."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from properties.domain.errors import InvalidInputError
from scheduling.domain.reminder_rules import ALLOWED, DEFAULTS, Audience, ReminderKind, Rule

OFFICE = frozenset({Audience.OFFICE})
DAY = dt.date(2026, 6, 10)
DAYS = st.dates(dt.date(2020, 1, 1), dt.date(2040, 1, 1))


def days(count):
    return dt.timedelta(days=count)


def rule(kind=ReminderKind.LICENCE, **changes):
    return Rule(kind=kind, **{"audiences": OFFICE, **changes})


def season(**changes):
    values = {"month": 4, "day": 1, "days_ahead": 30, **changes}
    return rule(ReminderKind.SEASON_START, **values)


def test_each_kind_has_one_default_and_words_for_somebody():
    assert [each.kind for each in DEFAULTS] == list(ReminderKind)
    assert all(each.audiences and each.audiences <= ALLOWED[each.kind] for each in DEFAULTS)


@pytest.mark.parametrize(("ahead", "is_near"), [(0, False), (9, False), (10, True), (11, True)])
def test_it_is_near_from_its_days_ahead_on(ahead, is_near):
    assert rule(days_ahead=ahead).is_near(DAY + days(10), DAY) is is_near


def test_what_was_never_told_is_told():
    assert rule().tells(0, None, DAY)


def test_it_is_told_again_after_its_days_and_not_too_often():
    twice = rule(repeat_days=7, most_times=2)

    assert not twice.tells(1, DAY, DAY)
    assert not twice.tells(1, DAY, DAY + days(6))
    assert twice.tells(1, DAY, DAY + days(7))
    assert not twice.tells(2, DAY, DAY + days(70))
    assert not rule().tells(1, DAY, DAY + days(700))


@given(start=DAYS, repeat=st.integers(1, 40), most=st.integers(1, 6))
def test_told_day_by_day_it_is_told_so_many_times_so_far_apart(start, repeat, most):
    told_on, of_rule = [], rule(repeat_days=repeat, most_times=most)
    for ahead in range(repeat * most + 50):
        today = start + days(ahead)
        if of_rule.tells(len(told_on), told_on[-1] if told_on else None, today):
            told_on.append(today)

    assert told_on == [start + days(repeat * number) for number in range(most)]


@pytest.mark.parametrize(
    ("today", "date"),
    [
        (dt.date(2026, 3, 1), None),
        (dt.date(2026, 3, 2), dt.date(2026, 4, 1)),  # 30 days before
        (dt.date(2026, 5, 31), dt.date(2026, 4, 1)),  # 60 days after
        (dt.date(2026, 6, 1), None),
    ],
)
def test_a_season_is_near_a_month_before_it_and_open_two_months_after(today, date):
    assert season().season_date(today) == date


@pytest.mark.parametrize("today", [dt.date(2026, 12, 20), dt.date(2027, 2, 1)])
def test_a_season_may_lie_across_the_end_of_the_year(today):
    assert season(month=1, day=5).season_date(today) == dt.date(2027, 1, 5)


@given(today=DAYS, month=st.integers(1, 12), ahead=st.integers(0, 366))
def test_a_season_that_is_near_is_neither_too_far_ahead_nor_too_long_ago(today, month, ahead):
    date = season(month=month, days_ahead=ahead).season_date(today)

    if date is not None:
        assert -60 <= (date - today).days <= ahead


def test_a_kind_that_has_no_season_has_none():
    assert rule().season_date(DAY) is None


@pytest.mark.parametrize(
    ("kind", "changes", "field"),
    [
        (ReminderKind.LICENCE, {"audiences": frozenset({Audience.CLIENT})}, "to_client"),
        (ReminderKind.FROST, {}, "to_office"),
        (ReminderKind.LICENCE, {"month": 3, "day": 1}, "month"),
        (ReminderKind.SEASON_START, {}, "month"),
        (ReminderKind.SEASON_START, {"month": 3}, "month"),
        (ReminderKind.SEASON_START, {"month": 2, "day": 29}, "day"),
        (ReminderKind.SEASON_START, {"month": 4, "day": 31}, "day"),
        (ReminderKind.LICENCE, {"most_times": 2}, "repeat_days"),
    ],
)
def test_a_rule_that_cannot_be_is_refused_by_its_field(kind, changes, field):
    with pytest.raises(InvalidInputError) as refused:
        rule(kind, **changes)

    assert refused.value.field == field
    assert refused.value.remedy
