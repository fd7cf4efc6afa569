"""A kept year of programs by the calendar; counts of days are the calendar's, depths arithmetic."""

from __future__ import annotations

import datetime as dt
from uuid import UUID

import numpy as np
import pytest

from scheduling.domain.fitted_programs import fitted_year
from scheduling.domain.program_waterings import Surface, waterings_by_month

LAWN, BEDS = UUID(int=1), UUID(int=2)
LEVEL = Surface(rate_mm_h=30.0, intake_mm_h=50.0, accumulation_mm=5.0)
YEAR = np.datetime64("2018-01-01") + np.arange(365)


def pattern(**days):
    return {"weekdays": [], "every_days": None, "first_day": 0, "parity": None, **days}


def month(number, days, *, percent=100, starts=("05:00",), minutes=12, zone=LAWN):
    program = {
        "name": "A", "days": "", "pattern": days, "starts": list(starts),
        "minutes": [{"zone": str(zone), "run_min": minutes}],
    }  # fmt: skip
    zones = [{"zone": str(each)} for each in (LAWN, BEDS)]
    return {"month": number, "percent": percent, "programs": [program], "zones": zones}


def gross(months, zone=LAWN, dates=YEAR):
    year = fitted_year(months)
    held = waterings_by_month(
        year.programs, zone, dates, monthly_percent=year.monthly_percent, surface=LEVEL
    )
    return held.gross_mm


def on(dates, mm):
    return [day for day, depth in zip(dates.tolist(), mm, strict=True) if depth > 0]


def test_the_days_of_a_month_hold_in_that_month_alone():
    # 2018: July has five Tuesdays and four Saturdays, June is off, August has five Wednesdays.
    # 12 min at 30 mm/h are 6 mm.
    months = [
        month(6, None),
        month(7, pattern(weekdays=[1, 5])),
        month(8, pattern(weekdays=[2])),
    ]

    by_month = [gross(months)[YEAR.astype("datetime64[M]").astype(int) % 12 == at].sum()
                for at in range(12)]  # fmt: skip

    assert by_month[6] == pytest.approx(9 * 6.0)
    assert by_month[7] == pytest.approx(5 * 6.0)
    assert sum(by_month) == pytest.approx(14 * 6.0)


def test_the_percentage_of_a_month_scales_its_minutes():
    months = [month(at, pattern(weekdays=[0]), percent=50 if at == 7 else 100) for at in (6, 7)]

    # 2018: June has four Mondays, July five; 6 mm each, in July half of that.
    assert gross(months).sum() == pytest.approx(4 * 6.0 + 5 * 3.0)


def test_an_interval_is_counted_from_the_first_monday_of_2024_and_its_own_first_day():
    dates = np.datetime64("2024-01-01") + np.arange(10)
    months = [month(1, pattern(every_days=3, first_day=1))]

    assert on(dates, gross(months, dates=dates)) == [dt.date(2024, 1, day) for day in (2, 5, 8)]


def test_before_that_monday_an_interval_goes_on_backwards():
    dates = np.datetime64("2023-12-25") + np.arange(8)
    months = [month(at, pattern(every_days=3, first_day=1)) for at in (1, 12)]

    assert [day.day for day in on(dates, gross(months, dates=dates))] == [27, 30]


@pytest.mark.parametrize(("parity", "first"), [("odd", 1), ("even", 2)])
def test_odd_and_even_are_the_dates_of_the_month(parity, first):
    days = on(YEAR, gross([month(1, pattern(parity=parity)), month(2, pattern(parity=parity))]))

    assert [day.day for day in days if day.month == 1] == list(range(first, 32, 2))
    assert [day.day for day in days if day.month == 2] == list(range(first, 29, 2))


def test_starts_are_cycles():
    months = [month(7, pattern(weekdays=[0]), starts=("05:00", "06:30"))]

    assert gross(months).sum() == pytest.approx(5 * 2 * 6.0)


def test_months_alike_are_one_program_and_missing_ones_are_named():
    year = fitted_year([month(at, pattern(weekdays=[0])) for at in (5, 6, 7)])

    (program,) = year.programs
    assert program.months == {5, 6, 7}
    assert year.months_missing == (1, 2, 3, 4, 8, 9, 10, 11, 12)
    assert year.zone_ids == {LAWN, BEDS}


def test_a_zone_that_no_program_names_gets_nothing():
    assert not gross([month(7, pattern(weekdays=[0]))], zone=BEDS).any()
