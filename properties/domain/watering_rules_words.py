"""What a client is told of the rules: one sentence that he can act on."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Final

from properties.domain.units import System, dimension, from_canonical, preferred_unit
from properties.domain.watering_rules_hours import DAY_MIN, WHOLE_DAY, HourRange, Ranges

WEEKDAYS: Final = (
    "Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday",
)  # fmt: skip
# Where the names of the hours change [min after midnight]; common practice of the language.
_PARTS: Final = ((240, "at night"), (720, "in the morning"), (1080, "in the afternoon"))
_HALF_DAY_MIN: Final = 720
_HOUR_MIN: Final = 60
_DEPTH_DIGITS: Final = 3


@dataclass(frozen=True, kw_only=True)
class Regime:
    """What the rules that hold on a date have in common; two dates of one regime are alike.

    `whom` is how the address came under them ("Your house number is odd"), empty where the rules
    are for everybody. `hours` are those of an allowed day. `reliefs` are sentences of their own.
    """

    whom: str = ""
    weekdays: frozenset[int] = frozenset(range(7))
    hours: Ranges = WHOLE_DAY
    is_ban: bool = False
    minutes_cap: float | None = None
    depth_cap_mm: float | None = None
    reliefs: tuple[str, ...] = ()


def regime_sentence(regime: Regime, units: System) -> str:
    """Return the regime as a sentence, and a sentence for each relief."""
    text = _when_text(regime)
    caps = "" if regime.is_ban else _caps_text(regime, units)
    sentence = f"{regime.whom}: {text}" if regime.whom else text[0].upper() + text[1:]
    return " ".join((f"{sentence}{caps}.", *regime.reliefs))


def day_text(day: date) -> str:
    """Return a date such as Monday 8 June 2026, in English whatever the machine's language."""
    return f"{WEEKDAYS[day.weekday()]} {day.day} {_MONTHS[day.month - 1]} {day.year}"


def depth_text(depth_mm: float, units: System) -> str:
    """Return a depth such as 0.75 in or 19.1 mm."""
    of = dimension("depth")
    unit = preferred_unit(of, units)
    return f"{from_canonical(depth_mm, unit, of):.{_DEPTH_DIGITS}g} {unit}"


def minutes_text(minutes: float) -> str:
    """Return a length of time such as an hour, 2 hours or 45 minutes."""
    hours, rest = divmod(minutes, _HOUR_MIN)
    if rest or not hours:
        return "a minute" if minutes == 1 else f"{minutes:g} minutes"
    return "an hour" if hours == 1 else f"{hours:g} hours"


def joined(words: list[str], last: str = "and") -> str:
    """Return words as a list in a sentence."""
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} {last} {words[-1]}"


def _when_text(regime: Regime) -> str:
    if regime.is_ban:
        return "no watering at all"
    if not regime.weekdays or not regime.hours:
        return "the rules contradict each other and leave no day and hour"
    return f"{_days_text(regime)}, {_hours_text(regime.hours)}"


def _days_text(regime: Regime) -> str:
    if len(regime.weekdays) == len(WEEKDAYS):
        return "any day"
    return joined([WEEKDAYS[day] for day in sorted(regime.weekdays)])


def _hours_text(hours: Ranges) -> str:
    if hours == WHOLE_DAY:
        return "at any hour"
    return joined([_range_text(each) for each in hours], "or")


def _range_text(hours: HourRange) -> str:
    if hours.start_min == 0:
        return f"before {_hour_text(hours.end_min)}"
    if hours.end_min == DAY_MIN:
        return f"after {_hour_text(hours.start_min)}"
    runs_on = " of the next day" if hours.end_min > DAY_MIN else ""
    return f"from {_hour_text(hours.start_min)} to {_hour_text(hours.end_min % DAY_MIN)}{runs_on}"


def _hour_text(minute: int) -> str:
    if minute % DAY_MIN == 0:
        return "midnight"
    if minute == _HALF_DAY_MIN:
        return "noon"
    hour, rest = divmod(minute, _HOUR_MIN)
    clock = f"{(hour - 1) % 12 + 1}" + (f":{rest:02}" if rest else "")
    return f"{clock} {next((word for end, word in _PARTS if minute < end), 'in the evening')}"


def _caps_text(regime: Regime, units: System) -> str:
    caps = []
    if regime.minutes_cap is not None:
        caps.append(minutes_text(regime.minutes_cap))
    if regime.depth_cap_mm is not None:
        caps.append(depth_text(regime.depth_cap_mm, units))
    return f"; at most {' and '.join(caps)} a zone" if caps else ""


_MONTHS: Final = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip
