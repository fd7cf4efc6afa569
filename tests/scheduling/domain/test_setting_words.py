from __future__ import annotations

import datetime as dt

import pytest

from scheduling.domain.notice_words import notice_words
from scheduling.domain.programs import DayPattern
from scheduling.domain.setting_words import days_text, setting_text, zone_setting

ENGLISH = notice_words("en")
MONTH = {
    "days_between": 2, "weekdays": None, "waterings_per_day": 1, "minutes": 14.0, "cycles": 1,
    "cycle_min": 14.0, "soak_min": 0.0,
}  # fmt: skip


@pytest.mark.parametrize(
    ("changes", "words", "week_min"),
    [
        ({}, "every 2 days, 14 min", 49.0),
        ({"days_between": 1}, "daily, 14 min", 98.0),
        ({"weekdays": [5, 1]}, "Tue Sat, 14 min", 28.0),
        (
            {"cycles": 2, "cycle_min": 7.0, "soak_min": 48.0},
            "every 2 days, 14 min (2 x 7 min, 48 min apart)",
            49.0,
        ),
        (
            {"cycles": 2, "cycle_min": 7.0, "soak_min": 0.0}, "every 2 days, 14 min (2 x 7 min)",
            49.0,
        ),
        ({"waterings_per_day": 3}, "every 2 days, 14 min, 3 times a day", 147.0),
        ({"minutes": 12.5}, "every 2 days, 12.5 min", 43.75),
        ({"days_between": None, "minutes": 0.0}, "off", 0.0),
        ({"minutes": 0.0}, "off", 0.0),
    ],
)  # fmt: skip
def test_a_setting_reads_as_it_is_typed_in(changes, words, week_min):
    setting = zone_setting({**MONTH, **changes})

    assert setting_text(setting, ENGLISH) == words
    assert setting.week_min == week_min  # arithmetic: days of a week, times a day, minutes


@pytest.mark.parametrize(
    ("pattern", "words"),
    [
        (None, "off"),
        (DayPattern(weekdays=tuple(range(7))), "daily"),
        (DayPattern(every_days=1), "daily"),
        (DayPattern(weekdays=(5, 1)), "Tue, Sat"),
        (DayPattern(parity="odd"), "odd dates"),
        (DayPattern(parity="even"), "even dates"),
        (DayPattern(every_days=3), "every 3 days"),
    ],
)
def test_the_days_of_a_program_read_as_a_person_sets_them(pattern, words):
    assert days_text(pattern, ENGLISH, "us") == words


@pytest.mark.parametrize(("units", "date"), [("us", "July 2"), ("metric", "2 July")])
def test_an_interval_says_from_which_day_it_counts(units, date):
    text = days_text(DayPattern(every_days=3), ENGLISH, units, dt.date(2026, 7, 2))

    assert text == f"every 3 days, first on {date}"
