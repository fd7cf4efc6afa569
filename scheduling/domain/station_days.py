"""From single values in any order to days."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from itertools import islice
from typing import Final

from properties.domain.errors import InvalidInputError
from scheduling.domain.station_values import (
    Code,
    DayReading,
    ElementValue,
    ReadingReport,
)

OPEN_DAYS: Final = 50_000
"""How many days are held at once: 137 years of one station, some 25 MB."""

_TEMPERATURES: Final = frozenset({"TMAX", "TMIN"})

_OpenDay = dict[Code, float | None]
"""What is known of a day; None stands for a value that was taken back."""

_OpenDays = dict[tuple[str, dt.date], _OpenDay]


def fold_days(
    values: Iterable[ElementValue], report: ReadingReport, *, open_days: int = OPEN_DAYS
) -> Iterator[DayReading]:
    """Gather the values of each station and day, whatever their order, in bounded memory.

    The procedure:

    1. A value joins its day. If the day already has that element, the first one stays: a repetition
       of the same value is counted, another value is reported.
    2. As soon as a day's maximum temperature is known to be below its minimum, both are taken back,
       and the line is reported; rain and wind stay.
    3. When more than `open_days` days are open, the older half of them (by their first line) is
       closed and yielded; at the end the rest.

    A file of one station is thus folded whole, grouped by element or by day, for `open_days` days;
    a file of many stations is folded if the lines of one day of one station do not stand too far
    apart. If they do, that day comes out more than once, each time with what was seen: the caller
    must write only the elements that are not None and leave the others as stored (in SQL, `tmax_c =
    COALESCE(new.tmax_c, old.tmax_c)`), and must itself keep the maximum above the minimum.

    Parameters
    ----------
    values : the accepted values of one file.
    report : where repetitions and contradictions are counted.
    open_days : days held at once.
    """
    days: _OpenDays = {}
    for value in values:
        _, station_code, date, element, amount = value
        day = days.setdefault((station_code, date), {})
        if element in day:
            _note_repetition(day[element], value, report)
            continue
        day[element] = amount
        if element in _TEMPERATURES:
            _take_back_contradiction(day, value, report)
        if len(days) > open_days:
            yield from _close(days, len(days) // 2)
    yield from _close(days, len(days))


def _close(days: _OpenDays, count: int) -> Iterator[DayReading]:
    for key in list(islice(days, count)):
        station_code, date = key
        known = days.pop(key).get
        amounts = known("TMIN"), known("TMAX"), known("PRCP"), known("AWND")
        if amounts != (None, None, None, None):
            yield DayReading(station_code, date, *amounts)


def _note_repetition(first: float | None, again: ElementValue, report: ReadingReport) -> None:
    report.values_accepted -= 1
    if again.value == first:
        report.values_repeated += 1
        return
    known = "was refused with its day" if first is None else f"is {first:g}"
    refusal = InvalidInputError(
        f"{again.element} of {again.date} is {again.value:g} here but {known} in an earlier line, "
        "which stays.",
        field=again.element, remedy="Find out which one is right and take the other line out.",
    )  # fmt: skip
    report.note(refusal, again.line_number, _wording(again))


def _take_back_contradiction(day: _OpenDay, latest: ElementValue, report: ReadingReport) -> None:
    highest_c, lowest_c = day.get("TMAX"), day.get("TMIN")
    if highest_c is None or lowest_c is None or highest_c >= lowest_c:
        return
    day["TMAX"] = day["TMIN"] = None
    report.values_accepted -= 2
    refusal = InvalidInputError(
        f"On {latest.date} the highest temperature, {highest_c:g} degC, is below the lowest, "
        f"{lowest_c:g} degC; neither is kept.",
        field="TMAX", remedy="Correct the two values: they may have changed places.",
    )  # fmt: skip
    report.note(refusal, latest.line_number, _wording(latest))


def _wording(value: ElementValue) -> str:
    return f"{value.station_code} {value.date} {value.element} {value.value:g}"
