from __future__ import annotations

import datetime as dt
import zoneinfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduling.domain.forecast_intervals import (
    Interval,
    amounts_by_day,
    day_length_s,
    duration_of,
    highest_by_day,
    main_day,
    maxima_by_day,
    means_by_day,
    minima_by_day,
    parts_of,
)

CHICAGO = zoneinfo.ZoneInfo("America/Chicago")
BEIRUT = zoneinfo.ZoneInfo("Asia/Beirut")
ZONES = [
    CHICAGO, BEIRUT, zoneinfo.ZoneInfo("Asia/Kathmandu"), zoneinfo.ZoneInfo("Pacific/Auckland"),
]  # fmt: skip


def interval(start: str, hours: float, value: float) -> Interval:
    moment = dt.datetime.fromisoformat(start).replace(tzinfo=dt.UTC)
    return Interval(moment, moment + dt.timedelta(hours=hours), value)


@pytest.mark.parametrize(
    ("text", "hours"),
    [("PT6H", 6), ("P1D", 24), ("P1DT12H", 36), ("PT90M", 1.5), ("P1W", 168), ("PT1H30M", 1.5)],
)
def test_reads_iso_durations(text, hours):  # arithmetic; the forms are those of ISO 8601
    assert duration_of(text) == dt.timedelta(hours=hours)


@pytest.mark.parametrize(
    "text", ["", "P", "PT", "P1DT", "PT0H", "-PT6H", "PT6", "6H", "P1M", "PT٦H"]
)
def test_takes_nothing_else_for_a_duration(text):
    assert duration_of(text) is None


def test_splits_an_amount_by_time():
    # 00:00 to 12:00 UTC is 19:00 to 07:00 in Chicago's summer: 5 h and 7 h (arithmetic).
    night = interval("2026-06-11T00:00", 12, 12.0)

    assert list(parts_of(night, CHICAGO)) == [
        (dt.date(2026, 6, 10), 5 * 3600.0), (dt.date(2026, 6, 11), 7 * 3600.0),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("date", "zone", "hours"),
    [
        # Second Sunday of March and first of November (US Energy Policy Act of 2005).
        (dt.date(2026, 3, 8), CHICAGO, 23),
        (dt.date(2026, 11, 1), CHICAGO, 25),
        (dt.date(2026, 6, 10), CHICAGO, 24),
        # Beirut skips midnight itself: its 29 March 2026 begins at 01:00 (IANA time zone data).
        (dt.date(2026, 3, 29), BEIRUT, 23),
    ],
)
def test_a_day_has_23_24_or_25_hours(date, zone, hours):
    assert day_length_s(date, zone) == hours * 3600


@pytest.mark.parametrize(("date", "utc_start", "hours"), [
    ("2026-03-08", "2026-03-08T06:00", 23), ("2026-11-01", "2026-11-01T05:00", 25),
])  # fmt: skip
def test_a_steady_rain_fills_a_day_of_clock_change(date, utc_start, hours):
    rain = [interval(utc_start, hours, float(hours))]

    assert amounts_by_day(rain, CHICAGO) == {dt.date.fromisoformat(date): pytest.approx(hours)}
    assert means_by_day(rain, CHICAGO) == {dt.date.fromisoformat(date): pytest.approx(hours)}


def test_a_day_that_is_not_covered_has_no_amount_mean_or_chance():
    almost = [interval("2026-06-10T05:00", 23.5, 10.0)]

    assert amounts_by_day(almost, CHICAGO) == {}
    assert means_by_day(almost, CHICAGO) == {}
    assert highest_by_day(almost, CHICAGO) == {}


def test_an_extreme_belongs_to_the_day_of_most_of_its_hours():
    warm = [interval("2026-06-10T12:00", 13, 30.0), interval("2026-06-11T12:00", 13, 32.0)]
    cold = [interval("2026-06-11T00:00", 14, 15.0), interval("2026-06-11T23:00", 5, 12.0)]

    assert maxima_by_day(warm, CHICAGO) == {
        dt.date(2026, 6, 10): 30.0, dt.date(2026, 6, 11): 32.0,
    }  # fmt: skip
    assert minima_by_day(cold, CHICAGO) == {dt.date(2026, 6, 11): 12.0}


def test_of_two_equal_days_the_earlier_has_it():
    assert main_day(interval("2026-06-11T03:00", 4, 1.0), CHICAGO) == dt.date(2026, 6, 10)


@settings(max_examples=60, derandomize=True, deadline=None)
@given(
    zone=st.sampled_from(ZONES),
    start=st.datetimes(dt.datetime(2026, 1, 1), dt.datetime(2026, 12, 31)),
    lengths_h=st.lists(st.integers(1, 30), min_size=1, max_size=12),
    value=st.floats(0, 50),
)
def test_no_second_and_no_rain_is_lost_in_splitting(zone, start, lengths_h, value):
    moment, parts, rain = start.replace(tzinfo=dt.UTC), [], 0.0
    for hours in lengths_h:
        one = Interval(moment, moment + dt.timedelta(hours=hours), value)
        own = list(parts_of(one, zone))
        assert sum(seconds for _, seconds in own) == pytest.approx(hours * 3600)
        parts += own
        moment = one.end
        rain += value

    # Padded with dry days, so that every wet day is covered: all of the rain must be there.
    first = start.replace(tzinfo=dt.UTC)
    dry = [
        Interval(first - dt.timedelta(days=2), first, 0.0),
        Interval(moment, moment + dt.timedelta(days=2), 0.0),
    ]
    wet = []
    at = first
    for hours in lengths_h:
        wet.append(Interval(at, at + dt.timedelta(hours=hours), value))
        at = wet[-1].end
    assert sum(amounts_by_day([*dry, *wet], zone).values()) == pytest.approx(rain)
    assert {date for date, _ in parts} <= amounts_by_day([*dry, *wet], zone).keys()
