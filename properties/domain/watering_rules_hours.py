"""Hours of the day as ranges of minutes, and what is common to several of them.

A range counts wall-clock minutes from the midnight that begins its day. One that passes midnight
ends beyond 1,440: it runs on into the next day and belongs to the day on which it began.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from properties.domain.errors import InvalidInputError

DAY_MIN: Final = 1440
MOST_RANGES: Final = 12
_HOUR_MIN: Final = 60
_RANGE: Final = re.compile(r"(\d\d):(\d\d)-(\d\d):(\d\d)", re.ASCII)


@dataclass(frozen=True, order=True)
class HourRange:
    """From `start_min` to before `end_min` [min after midnight]; 0 to 2,880."""

    start_min: int
    end_min: int

    def text(self) -> str:
        """Return the range as it is entered, such as 19:00-05:00."""
        return f"{_clock(self.start_min)}-{_clock(self.end_min)}"


Ranges = tuple[HourRange, ...]
WHOLE_DAY: Final[Ranges] = (HourRange(0, DAY_MIN),)


def hours_of(value: object, *, field: str) -> Ranges:
    """Read ranges such as ["00:00-10:00", "19:00-24:00"]; one whose end comes first runs on.

    Parameters
    ----------
    value : a list of texts; each hour from 00:00 to 24:00, 24:00 only at the end.
    field : how an error names the value.

    Raises
    ------
    InvalidInputError
        For anything else, and for a list that leaves no minute.
    """
    texts = value if isinstance(value, list | tuple) else [value]
    if not texts or len(texts) > MOST_RANGES:
        raise InvalidInputError(
            "No hour is left in which to water." if not texts else "These are too many ranges.",
            field=field, code="no-hour",
            remedy=f"Give 1 to {MOST_RANGES} ranges, leave the field empty for the whole day, "
            "or say that the rule is a ban.",
        )  # fmt: skip
    return merged(_range_of(text, field) for text in texts)


def merged(ranges: Iterable[HourRange]) -> Ranges:
    """Return the same minutes in order, without overlaps or seams."""
    kept: list[HourRange] = []
    for each in sorted(each for each in ranges if each.start_min < each.end_min):
        if kept and each.start_min <= kept[-1].end_min:
            kept[-1] = HourRange(kept[-1].start_min, max(kept[-1].end_min, each.end_min))
        else:
            kept.append(each)
    return tuple(kept)


def common(first: Ranges, second: Ranges) -> Ranges:
    """Return the minutes that are in both."""
    return merged(
        HourRange(max(a.start_min, b.start_min), min(a.end_min, b.end_min))
        for a in first
        for b in second
    )


def clipped(ranges: Ranges, low_min: int, high_min: int) -> Ranges:
    """Return the minutes from `low_min` to before `high_min`."""
    return common(ranges, (HourRange(low_min, high_min),))


def moved(ranges: Ranges, by_min: int) -> Ranges:
    """Return the ranges so many minutes later."""
    return tuple(HourRange(each.start_min + by_min, each.end_min + by_min) for each in ranges)


def without(ranges: Ranges, closed: Ranges) -> Ranges:
    """Return the ranges less hours that are closed on every day.

    Closed hours that pass midnight close the early hours of each day as well: none from 10 to 16
    leaves 00:00-10:00 and 16:00-24:00; none from 22 to 6 leaves 06:00-22:00.
    """
    folded = (*clipped(closed, 0, DAY_MIN), *moved(clipped(closed, DAY_MIN, 2 * DAY_MIN), -DAY_MIN))
    daily = merged(folded)
    return common(ranges, _gaps(merged((*daily, *moved(daily, DAY_MIN)))))


def _gaps(closed: Ranges) -> Ranges:
    starts = (0, *(each.end_min for each in closed))
    ends = (*(each.start_min for each in closed), 2 * DAY_MIN)
    return merged(HourRange(start, end) for start, end in zip(starts, ends, strict=True))


def _range_of(text: object, field: str) -> HourRange:
    found = _RANGE.fullmatch(text) if isinstance(text, str) else None
    if found is None:
        raise _no_range(text, field)
    numbers = [int(part) for part in found.groups()]
    start, end = numbers[0] * _HOUR_MIN + numbers[1], numbers[2] * _HOUR_MIN + numbers[3]
    is_clock = max(numbers[1], numbers[3]) < _HOUR_MIN and start < DAY_MIN and end <= DAY_MIN
    if not is_clock or start == end:
        raise _no_range(text, field)
    return HourRange(start, end if end > start else end + DAY_MIN)


def _no_range(text: object, field: str) -> InvalidInputError:
    return InvalidInputError(
        f"'{text}' is no range of hours.",
        field=field, code="bad-hours",
        remedy="Write ranges such as 00:00-10:00 or 19:00-24:00; 00:00-24:00 is the whole day.",
    )  # fmt: skip


def _clock(minute: int) -> str:
    minute = minute if minute <= DAY_MIN else minute - DAY_MIN
    return f"{minute // _HOUR_MIN:02}:{minute % _HOUR_MIN:02}"
