"""The table that a person types from, and the same as text. All checks: arithmetic."""

from __future__ import annotations

import datetime as dt

import pytest

from scheduling.domain.program_days import (
    FIRST_MONDAY,
    days_data,
    days_words,
    first_date,
    pattern_of,
)
from scheduling.domain.program_table import (
    PlanUsed,
    ProgramTable,
    TableParts,
    ZoneName,
    first_day,
    month_line,
    quality_sentence,
    time_text,
)
from scheduling.domain.program_table_text import WIDTH, table_text
from scheduling.domain.programs import DayPattern

ON = dt.date(2026, 6, 10)
NAMES = {"z1": ZoneName(1, "Front lawn"), "z2": ZoneName(2, "Beds under the long south wall" * 3)}
EVERY_THIRD = DayPattern(every_days=3, first_day=2)


def month_of(number, pattern=EVERY_THIRD, percent=100, **changes):
    program = {
        "name": "A", "starts": ["04:30", "12:15"], "pattern": days_data(pattern),
        "minutes": [{"zone": "z2", "run_min": 20}, {"zone": "z1", "run_min": 14}],
    }  # fmt: skip
    values = {"busiest_day_min": 68.0, "window_min": 600, "is_proven": True}
    return {"month": number, "percent": percent, "programs": [program], **values, **changes}


UNMET = {
    "zone_id": "z1", "code": "hours", "month": 7, "sentence": "Too few hours.", "cure": "More.",
    "need_mm_week": 25.4, "shortfall_mm_week": 12.7, "excess_mm_week": 2.54,
}  # fmt: skip


def table_of(months, units="us", **changes):
    parts = TableParts(NAMES, ["z2"], units)
    values = {
        "property_name": "Holm garden", "controller_name": "Garage", "number": 3, "style": "days",
        "fitted_at": dt.datetime(2026, 6, 10, 9, 0, tzinfo=dt.UTC), "month": 6, "percent": 100,
        "programs": parts.programs(months[5], ON), "sheets": tuple(parts.sheets(months, ON)),
        "months": tuple(month_line(month, ON) for month in months),
        "not_met": (parts.not_met(UNMET),), "left_out": (), "remarks": (),
        "plans": (PlanUsed(zone="1 Front lawn", number=2, newest=2),), "gap_mm_week": 0.0,
        "quality": "Proven.",
    }  # fmt: skip
    return ProgramTable(**{**values, **changes})


@pytest.mark.parametrize(
    ("pattern", "words"),
    [
        (None, "off"),
        (DayPattern(weekdays=tuple(range(7))), "daily"),
        (DayPattern(every_days=1), "daily"),
        (DayPattern(weekdays=(5, 1)), "Tue, Sat"),
        (DayPattern(every_days=3, first_day=2), "every 3 days"),
        (DayPattern(parity="odd"), "odd dates"),
    ],
)
def test_days_are_told_short_and_come_back_from_their_data(pattern, words):
    assert days_words(pattern) == words
    assert pattern_of(days_data(pattern)) == pattern


def test_an_interval_counts_from_its_first_day_that_comes():
    day = first_date(EVERY_THIRD, ON)

    assert 0 <= (day - ON).days < 3
    assert (day - FIRST_MONDAY).days % 3 == 2
    assert first_date(EVERY_THIRD, day) == day


@pytest.mark.parametrize("pattern", [None, DayPattern(every_days=1), DayPattern(weekdays=(1,))])
def test_other_days_need_no_first_date(pattern):
    assert first_date(pattern, ON) is None


def test_two_intervals_of_one_table_keep_apart():
    one, other = (first_date(DayPattern(every_days=4, first_day=day), ON) for day in (0, 2))

    assert abs((one - other).days) == 2


@pytest.mark.parametrize(
    ("month", "day"),
    [(6, dt.date(2026, 6, 10)), (7, dt.date(2026, 7, 1)), (5, dt.date(2027, 5, 1))],
)
def test_a_month_is_the_next_of_its_name(month, day):
    assert first_day(month, ON) == day


def test_zones_stand_in_the_order_of_running_and_estimates_are_marked():
    (program,) = TableParts(NAMES, ["z2"], "us").programs(month_of(6), ON)

    assert [(zone.number, zone.run_min, zone.is_estimated) for zone in program.zones] == [
        (2, 20, True), (1, 14, False),
    ]  # fmt: skip


def test_the_loss_stands_in_the_units_of_the_reader():
    us, metric = (
        TableParts(NAMES, [], units).not_met(UNMET).sentence for units in ("us", "metric")
    )

    assert us == (
        "Zone 1 Front lawn: Too few hours. In July it lacks 0.5 in of 1 in a week and gets 0.1 in "
        "a week more than it can use."
    )
    assert "lacks 12.7 mm of 25.4 mm a week" in metric


def test_what_holds_for_all_zones_has_no_loss():
    told = TableParts(NAMES, [], "us").not_met(
        {**UNMET, "zone_id": None, "shortfall_mm_week": None, "excess_mm_week": None}
    )

    assert told.sentence == "Too few hours."


def test_months_of_other_minutes_are_another_sheet():
    months = [month_of(number) for number in range(1, 13)]
    for month in months[4:9]:
        month["programs"][0]["minutes"][0]["run_min"] = 9

    text = table_text(table_of(months), "us")

    assert "To set for October to April" in text
    assert "To set for May to September" in text


def test_the_text_says_all_that_is_typed_within_the_width_of_a_letter():
    months = [month_of(number) for number in range(1, 13)]
    months[0] = month_of(1, pattern=None)

    text = table_text(table_of(months), "us")

    assert max(map(len, text.splitlines())) <= WIDTH
    assert "To set for the whole year" in text
    assert "Program A   starts 4:30 AM, 12:15 PM" in text
    assert "  1  Front lawn" in text
    assert "14 min" in text
    assert "  Jan  100 %  A off" in text
    assert "  Jun  100 %  A every 3 days from 12 Jun" in text
    assert "1:08 of the 10:00 hours allowed" in " ".join(text.split())
    assert "* Estimated" in text
    assert "What cures it: More." in text
    assert "Local watering rules bind" in text
    assert "1 Front lawn (2)" in text
    assert "newer plan" not in text


def test_a_zone_that_needs_nothing_is_no_fault():
    idle = TableParts(NAMES, [], "us").not_met({**UNMET, "code": "no-need"})
    months = [month_of(number) for number in range(1, 13)]

    assert "cannot be met" not in table_text(table_of(months, not_met=(idle,)), "us")


def test_a_newer_plan_makes_it_stale_and_is_said_on_top():
    months = [month_of(number) for number in range(1, 13)]
    table = table_of(months, plans=(PlanUsed(zone="1 Front lawn", number=2, newest=3),))

    assert table.is_stale
    assert "newer plan" in table_text(table, "us").splitlines()[2]


def test_the_fullest_month_is_told():
    months = [month_of(number) for number in range(1, 13)]
    months[7] = month_of(8, busiest_day_min=60.0, window_min=120)

    assert table_of(months).hours.month == 8


@pytest.mark.parametrize(
    ("gap", "proven", "words"),
    [
        (0.0, True, "Proven: nothing"),
        (2.54, True, "up to 0.1 in a week"),
        (0.0, False, "thirstiest"),
    ],
)
def test_how_good_it_is_is_told(gap, proven, words):
    assert words in quality_sentence(gap, "us", months_proven=proven)


@pytest.mark.parametrize(
    ("time", "us"),
    [("00:05", "12:05 AM"), ("04:30", "4:30 AM"), ("12:00", "12:00 PM"), ("23:59", "11:59 PM")],
)
def test_times_are_written_as_people_there_write_them(time, us):
    assert time_text(dt.time.fromisoformat(time), "us") == us
    assert time_text(dt.time.fromisoformat(time), "metric") == time
