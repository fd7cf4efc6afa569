"""What a forecast says of a day, whatever shape it came in: one reading, units, sane ranges."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, fields
from types import MappingProxyType
from typing import Final

from properties.domain.errors import InvalidInputError
from properties.domain.units import Unit

FARTHEST_DAYS: Final = 16  # common practice: what lies beyond is the usual year again
MOST_PROBLEMS: Final = 20
_EXCERPT_CHARS: Final = 40
_FLOAT_NOISE: Final = 1e-9
_CLOCK_SLACK: Final = dt.timedelta(hours=1)


@dataclass(frozen=True)
class ForecastValues:
    """A local day to come; None is what the document does not say, or says unbelievably.

    Temperatures [degC], rain [mm], its chance and the mean humidity [%], mean wind 10 m above the
    ground [m/s], solar radiation [MJ/m2], and ET0 as the provider computed it [mm].
    """

    date: dt.date
    tmin_c: float | None = None
    tmax_c: float | None = None
    rain_mm: float | None = None
    rain_probability_percent: float | None = None
    humidity_percent: float | None = None
    wind_m_s: float | None = None
    solar_mj_m2: float | None = None
    provider_et0_mm: float | None = None


VALUE_NAMES: Final = tuple(each.name for each in fields(ForecastValues) if each.name != "date")
CORE_NAMES: Final = ("tmin_c", "tmax_c", "rain_mm")
RANGES: Final = MappingProxyType(
    {
        # Between the coldest and the hottest air ever measured, -89.2 and 56.7 degC (from memory:
        # World Meteorological Organization, archive of extremes).
        "tmin_c": (-90.0, 60.0),
        "tmax_c": (-90.0, 60.0),
        "rain_mm": (0.0, 2000.0),  # above the world's wettest day, 1825 mm (from memory, likewise)
        "rain_probability_percent": (0.0, 100.0),
        "humidity_percent": (0.0, 100.0),
        "wind_m_s": (0.0, 75.0),  # above any day's mean (common practice)
        "solar_mj_m2": (
            0.0,
            50.0,
        ),  # above the sun outside of the air on any day (FAO-56, table 2.6)
        "provider_et0_mm": (0.0, 40.0),
    }
)

_TEMPERATURE: Final = {
    "degC": Unit(1.0), "°C": Unit(1.0), "degF": Unit(5 / 9, -160 / 9), "°F": Unit(5 / 9, -160 / 9),
    "K": Unit(1.0, -273.15),
}  # fmt: skip
_DEPTH: Final = {"mm": Unit(1.0), "cm": Unit(10.0), "in": Unit(25.4), "inch": Unit(25.4)}
_SPEED: Final = {
    "m_s-1": Unit(1.0), "m/s": Unit(1.0), "km_h-1": Unit(1 / 3.6), "km/h": Unit(1 / 3.6),
    "mp/h": Unit(0.44704), "mph": Unit(0.44704), "kn": Unit(1852 / 3600),
    "kt": Unit(1852 / 3600),
}  # fmt: skip
_SHARE: Final = {"percent": Unit(1.0), "%": Unit(1.0)}
UNITS: Final = MappingProxyType(
    {
        "tmin_c": _TEMPERATURE,
        "tmax_c": _TEMPERATURE,
        "rain_mm": _DEPTH,
        "rain_probability_percent": _SHARE,
        "humidity_percent": _SHARE,
        "wind_m_s": _SPEED,
        "solar_mj_m2": {"MJ/m²": Unit(1.0), "MJ/m2": Unit(1.0)},
        "provider_et0_mm": _DEPTH,
    }
)


@dataclass
class Problems:
    """What was left out of a document and why; only the first few in words."""

    count: int = 0
    words: list[str] = field(default_factory=list)

    def note(self, where: str, what: str) -> None:
        """Remember one thing that was left out."""
        self.count += 1
        if len(self.words) < MOST_PROBLEMS:
            self.words.append(f"{where}: {what}")


@dataclass(frozen=True)
class ForecastReading:
    """When the forecast was made, its days in their order, and what was left out."""

    issued_at: dt.datetime
    days: tuple[ForecastValues, ...]
    problems: tuple[str, ...] = ()
    problem_count: int = 0


@dataclass(frozen=True)
class PastReading:
    """Days that were, as an analysis has them, in their order, and what was left out."""

    days: tuple[ForecastValues, ...]
    problems: tuple[str, ...] = ()
    problem_count: int = 0


def excerpt(value: object) -> str:
    """Return a short text for a value out of a document, fit for any log or database."""
    text = ascii(value) if isinstance(value, str | int | float | None) else type(value).__name__
    return text if len(text) <= _EXCERPT_CHARS else f"{text[:_EXCERPT_CHARS]}..."


def unit_of(name: str, word: object, *, where: str, problems: Problems) -> Unit | None:
    """Return the unit that a document names for a value, None (and noted) when it is unknown."""
    plain = word.rpartition(":")[2] if isinstance(word, str) else None
    unit = UNITS[name].get(plain or "")
    if unit is None:
        known = ", ".join(UNITS[name])
        problems.note(where, f"the unit {excerpt(word)} is none of {known}; all of it left out")
    return unit


def believable(
    name: str, value: object, unit: Unit, *, where: str, problems: Problems
) -> float | None:
    """Return a value in the unit of our own, None when it is absent or (noted) cannot be right."""
    if value is None:
        return None
    number = number_of(value)
    if number is None:
        problems.note(where, f"{excerpt(value)} is not a number")
        return None
    low, high = RANGES[name]
    ours = number * unit.scale + unit.offset
    if not low <= ours <= high:
        problems.note(where, f"{ours:g} is not from {low:g} to {high:g}")
        return None
    return ours


def issue_time(stated: object, *, retrieved_at: dt.datetime, problems: Problems) -> dt.datetime:
    """Return when the document says it was made, or when it came if it does not say so believably.

    A moment in the future would keep every later document out, so it is not believed.
    """
    moment = moment_of(stated)
    if moment is None or moment > retrieved_at + _CLOCK_SLACK or moment.year < 2000:
        problems.note("issue time", f"{excerpt(stated)} cannot be right; the retrieval counts")
        return retrieved_at
    return moment.astimezone(dt.UTC)


def moment_of(text: object) -> dt.datetime | None:
    """Return an ISO 8601 moment that names its offset, else None."""
    if not isinstance(text, str):
        return None
    try:
        moment = dt.datetime.fromisoformat(text)
    except ValueError:
        return None
    return None if moment.tzinfo is None else moment


def reading_of(
    by_date: Mapping[dt.date, Mapping[str, float | None]],
    *,
    issued_at: dt.datetime,
    today: dt.date,
    problems: Problems,
) -> ForecastReading:
    """Return the days from today on that say anything of temperature or rain.

    Raises
    ------
    InvalidInputError
        Code "forecast-empty", when no such day is left.
    """
    dates = _coming(sorted(by_date), today, problems)
    days = _usable_days(by_date, dates, f"from {today} on", problems)
    return ForecastReading(issued_at, days, tuple(problems.words), problems.count)


def past_reading_of(
    by_date: Mapping[dt.date, Mapping[str, float | None]],
    *,
    first: dt.date,
    last: dt.date,
    problems: Problems,
) -> PastReading:
    """Return the days from `first` to `last` that say anything of temperature or rain.

    Raises
    ------
    InvalidInputError
        Code "forecast-empty", when no such day is left.
    """
    dates = [date for date in sorted(by_date) if first <= date <= last]
    days = _usable_days(by_date, dates, f"from {first} to {last}", problems)
    return PastReading(days, tuple(problems.words), problems.count)


def _usable_days(
    by_date: Mapping[dt.date, Mapping[str, float | None]],
    dates: Iterable[dt.date],
    when: str,
    problems: Problems,
) -> tuple[ForecastValues, ...]:
    each = (_day(date, by_date[date], problems) for date in dates)
    days = tuple(day for day in each if any(getattr(day, name) is not None for name in CORE_NAMES))
    if not days:
        first = f" First problem: {problems.words[0]}." if problems.words else ""
        raise InvalidInputError(
            f"The forecast holds no usable day {when}.{first}",
            field="forecast", code="forecast-empty",
            remedy="Check the source's address, its style and the units that it is asked for.",
        )  # fmt: skip
    return days


def number_of(value: object) -> float | None:
    """Return a finite number; true and false are none, an integer beyond all floats neither."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    try:
        number = float(value)
    except OverflowError:
        return None
    return number if math.isfinite(number) else None


def _coming(dates: Iterable[dt.date], today: dt.date, problems: Problems) -> list[dt.date]:
    coming = [date for date in dates if date >= today]
    near = [date for date in coming if (date - today).days <= FARTHEST_DAYS]
    for date in coming[len(near) :]:
        problems.note(str(date), f"is more than {FARTHEST_DAYS} days ahead")
    return near


def _day(date: dt.date, values: Mapping[str, float | None], problems: Problems) -> ForecastValues:
    known = {name: _of_the_day(name, value, date, problems) for name, value in values.items()}
    tmin_c, tmax_c = known.get("tmin_c"), known.get("tmax_c")
    if tmin_c is not None and tmax_c is not None and tmin_c > tmax_c:
        problems.note(str(date), f"the lowest {tmin_c:g} degC is above the highest {tmax_c:g}")
        known |= {"tmin_c": None, "tmax_c": None}
    return ForecastValues(date=date, **known)


def _of_the_day(name: str, value: float | None, date: dt.date, problems: Problems) -> float | None:
    """Check what was summed or averaged: believable parts may add up to what is not."""
    if value is None:
        return None
    nearest = min(max(value, RANGES[name][0]), RANGES[name][1])
    if math.isclose(value, nearest, rel_tol=_FLOAT_NOISE, abs_tol=_FLOAT_NOISE):
        return nearest
    problems.note(str(date), f"{name} adds up to {value:g}")
    return None


def refused_shape(field_name: str, expected: str) -> InvalidInputError:
    """Return the refusal of a document that is not of the shape that its source names."""
    return InvalidInputError(
        f"The forecast has no {expected}.",
        field=field_name, code="forecast-shape",
        remedy="Check the source's address, and that its style is the one of its documents.",
    )  # fmt: skip
