"""Values that hold for stretches of time, brought to local days of 23, 24 or 25 hours.

References
----------
ISO 8601 (durations). A day of a duration counts 24 hours, since the starts are in UTC.
"""

from __future__ import annotations

import datetime as dt
import re
import zoneinfo
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final

LONGEST: Final = dt.timedelta(days=10)
_SLACK_S: Final = 1.0
_DURATION: Final = re.compile(
    r"P(?:(?P<weeks>\d{1,3})W)?(?:(?P<days>\d{1,4})D)?"
    r"(?:T(?=\d)(?:(?P<hours>\d{1,5})H)?(?:(?P<minutes>\d{1,6})M)?(?:(?P<seconds>\d{1,8})S)?)?",
    re.ASCII,
)


@dataclass(frozen=True)
class Interval:
    """A value from `start` up to `end`, both in UTC."""

    start: dt.datetime
    end: dt.datetime
    value: float


def duration_of(text: str) -> dt.timedelta | None:
    """Return the length of a duration such as P1DT12H, None when it is none or not above zero."""
    match = _DURATION.fullmatch(text)
    if match is None:
        return None
    parts = {name: int(digits) for name, digits in match.groupdict().items() if digits}
    length = dt.timedelta(**parts)
    return length or None


def day_start(date: dt.date, zone: zoneinfo.ZoneInfo) -> dt.datetime:
    """Return the moment at which a local day begins, in UTC.

    Where the clocks skip midnight that is the moment of the change.
    """
    return dt.datetime.combine(date, dt.time(), tzinfo=zone).astimezone(dt.UTC)


def day_length_s(date: dt.date, zone: zoneinfo.ZoneInfo) -> float:
    """Return the seconds from one local midnight to the next."""
    return (day_start(date + dt.timedelta(days=1), zone) - day_start(date, zone)).total_seconds()


def parts_of(interval: Interval, zone: zoneinfo.ZoneInfo) -> Iterator[tuple[dt.date, float]]:
    """Yield the local days that an interval touches and its seconds in each."""
    date = interval.start.astimezone(zone).date()
    start = interval.start
    while start < interval.end:
        date_after = date + dt.timedelta(days=1)
        end = min(interval.end, day_start(date_after, zone))
        if end > start:
            yield date, (end - start).total_seconds()
        start, date = max(start, end), date_after


def main_day(interval: Interval, zone: zoneinfo.ZoneInfo) -> dt.date:
    """Return the local day that most of the interval lies in; of two equal ones the earlier."""
    parts = list(parts_of(interval, zone))
    return max(parts, key=lambda part: part[1])[0]


def amounts_by_day(intervals: Iterable[Interval], zone: zoneinfo.ZoneInfo) -> dict[dt.date, float]:
    """Return amounts split over the local days in proportion to time.

    Only days that the intervals cover from midnight to midnight have one: half a day's rain is
    not the day's. The intervals do not overlap.
    """
    return _whole_days(intervals, zone, per_second=True)


def means_by_day(intervals: Iterable[Interval], zone: zoneinfo.ZoneInfo) -> dict[dt.date, float]:
    """Return means over the wholly covered local days, each value weighted by its time."""
    sums = _whole_days(intervals, zone, per_second=False)
    return {date: total / day_length_s(date, zone) for date, total in sums.items()}


def highest_by_day(intervals: Iterable[Interval], zone: zoneinfo.ZoneInfo) -> dict[dt.date, float]:
    """Return the highest value that touches each wholly covered local day."""
    known = list(intervals)
    highest: dict[dt.date, float] = {}
    for interval in known:
        for date, _ in parts_of(interval, zone):
            highest[date] = max(highest.get(date, interval.value), interval.value)
    covered = amounts_by_day(known, zone)
    return {date: value for date, value in highest.items() if date in covered}


def maxima_by_day(intervals: Iterable[Interval], zone: zoneinfo.ZoneInfo) -> dict[dt.date, float]:
    """Return the highest of the values that belong to each day by most of their time."""
    maxima: dict[dt.date, float] = {}
    for interval in intervals:
        date = main_day(interval, zone)
        maxima[date] = max(maxima.get(date, interval.value), interval.value)
    return maxima


def minima_by_day(intervals: Iterable[Interval], zone: zoneinfo.ZoneInfo) -> dict[dt.date, float]:
    """Return the lowest of the values that belong to each day by most of their time."""
    negated = (Interval(each.start, each.end, -each.value) for each in intervals)
    return {date: -value for date, value in maxima_by_day(negated, zone).items()}


def _whole_days(
    intervals: Iterable[Interval], zone: zoneinfo.ZoneInfo, *, per_second: bool
) -> dict[dt.date, float]:
    """Return per day the sum of value x seconds, or of value x its share of the interval."""
    sums: defaultdict[dt.date, float] = defaultdict(float)
    covered_s: defaultdict[dt.date, float] = defaultdict(float)
    for interval in intervals:
        length_s = (interval.end - interval.start).total_seconds()
        for date, seconds in parts_of(interval, zone):
            sums[date] += interval.value * (seconds / length_s if per_second else seconds)
            covered_s[date] += seconds
    return {
        date: total
        for date, total in sums.items()
        if covered_s[date] >= day_length_s(date, zone) - _SLACK_S
    }
