"""Notice before digging: SAFE-01 and SAFE-03 by the calendar, and other regions as data."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from audits.domain.digging import (
    TEXAS_NOTICE,
    DateWindow,
    NoticeRule,
    digging_window,
    earliest_digging_date,
    latest_digging_date,
    notice_window,
)
from properties.domain.errors import InvalidInputError

# Legal holidays of 2026 around the cases: Independence Day is a Saturday, Labor Day a Monday,
# Thanksgiving a Thursday and the day after it.
HOLIDAYS = frozenset({date(2026, 7, 4), date(2026, 9, 7), date(2026, 11, 26), date(2026, 11, 27)})


@pytest.mark.parametrize(
    ("notice", "earliest"),
    [
        (date(2026, 6, 1), date(2026, 6, 3)),  # Monday: Tuesday, Wednesday
        (date(2026, 6, 3), date(2026, 6, 5)),  # Wednesday: Thursday, Friday
        (date(2026, 6, 4), date(2026, 6, 8)),  # Thursday: Friday, Monday
        (date(2026, 6, 5), date(2026, 6, 9)),  # Friday: Monday, Tuesday
        (date(2026, 6, 6), date(2026, 6, 10)),  # Saturday counts as Monday
        (date(2026, 6, 7), date(2026, 6, 10)),  # Sunday counts as Monday
        (date(2026, 7, 2), date(2026, 7, 6)),  # the holiday is a Saturday and costs no day
        (date(2026, 9, 3), date(2026, 9, 8)),  # Thursday: Friday, Tuesday after Labor Day
        (date(2026, 9, 4), date(2026, 9, 9)),  # Friday: Tuesday, Wednesday
        (date(2026, 9, 7), date(2026, 9, 10)),  # the holiday itself counts as Tuesday
        (date(2026, 11, 25), date(2026, 12, 1)),  # the day before Thanksgiving
    ],
)
def test_safe_01_two_business_days_without_weekends_and_holidays(notice, earliest):
    # texas811.org: notify two business days before; weekends and holidays excluded.
    assert earliest_digging_date(notice, HOLIDAYS) == earliest


def test_safe_03_notice_holds_for_fourteen_days():
    # Tex. Utilities Code 251.151: not earlier than the 14th day before digging begins.
    assert latest_digging_date(date(2026, 6, 1)) == date(2026, 6, 15)
    assert digging_window(date(2026, 6, 1), HOLIDAYS) == DateWindow(
        date(2026, 6, 3), date(2026, 6, 15)
    )


def test_safe_03_when_to_give_notice_of_a_digging():
    assert notice_window(date(2026, 6, 15), HOLIDAYS) == DateWindow(
        date(2026, 6, 1), date(2026, 6, 11)
    )


def test_notice_for_a_sunday_is_given_by_wednesday():
    assert notice_window(date(2026, 6, 14), HOLIDAYS).last == date(2026, 6, 10)


def test_another_region_is_another_rule():
    # Constructed: three business days, ten days long, and Friday and Saturday off.
    rule = NoticeRule(
        business_days=3, longest_days=10, source="arithmetic", weekend=frozenset({4, 5})
    )

    window = digging_window(date(2026, 6, 3), frozenset(), rule)

    # Wednesday: Thursday, Sunday, Monday.
    assert window == DateWindow(date(2026, 6, 8), date(2026, 6, 13))


def test_refuses_where_holidays_outlast_the_notice():
    holidays = {date(2026, 6, 1) + timedelta(days=day) for day in range(14)}

    for window in (digging_window, notice_window):
        with pytest.raises(InvalidInputError, match="too many holidays") as refusal:
            window(date(2026, 6, 10), holidays, replace(TEXAS_NOTICE, longest_days=3))
        assert refusal.value.code == "no-day-to-dig"


@pytest.mark.parametrize(
    "change",
    [
        {"business_days": -1}, {"longest_days": 1}, {"weekend": frozenset({7})},
        {"weekend": frozenset(range(7))},
    ],
)  # fmt: skip
def test_refuses_impossible_rules(change):
    with pytest.raises(InvalidInputError) as refusal:
        replace(TEXAS_NOTICE, **change)

    assert refusal.value.code == "impossible-rule"


days = st.dates(date(2026, 1, 1), date(2026, 12, 31))
some_holidays = st.frozensets(days, max_size=12)


@given(days, some_holidays)
def test_two_business_days_lie_between_notice_and_digging(notice, holidays):
    earliest = earliest_digging_date(notice, holidays)

    # Second route: list the days after the notice, the last one included.
    after = [notice + timedelta(days=n) for n in range(1, (earliest - notice).days + 1)]
    business = [day for day in after if day.weekday() < 5 and day not in holidays]
    was_business_day = notice.weekday() < 5 and notice not in holidays
    assert len(business) == (2 if was_business_day else 3)
    assert business[-1] == earliest


@given(days, st.integers(0, 20), some_holidays)
def test_both_windows_tell_the_same(notice, later, holidays):
    digging = notice + timedelta(days=later)
    to_dig = DateWindow(earliest_digging_date(notice, holidays), latest_digging_date(notice))

    to_tell = notice_window(digging, holidays)

    assert (to_dig.first <= digging <= to_dig.last) == (to_tell.first <= notice <= to_tell.last)
