"""Which values of a station file can be trusted: units, flags, ranges, and the doubt of the units.

References
----------
NOAA/NCEI, Global Historical Climatology Network daily, readme.txt section III: temperature, dew
point, rain and wind in tenths of degC, mm and m/s, humidity in percent; -9999 is missing;
measurement flag T is a trace of rain, whose amount is zero; a quality flag of any letter says that
the value failed a check. Flag A, a total of several days, is from memory: NOAA/NCEI, documentation
of the ordered daily summaries.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from properties.domain.errors import InvalidInputError
from properties.domain.units import DIMENSIONS, Dimension, Unit
from scheduling.domain.station_values import (
    Cell,
    Code,
    ElementValue,
    ReadingReport,
    Units,
    excerpt,
)

MISSING: Final = -9999.0
MOST_RAIN_MM: Final = 2000.0  # above the world's wettest day, 1825 mm in 1966 (from memory)
MOST_WIND_M_S: Final = 50.0  # a hurricane all day long (common practice); gusts are faster

_TEMPERATURE, _DEPTH, _SPEED = (DIMENSIONS[name] for name in ("temperature", "depth", "speed"))
_PERCENT: Final = Unit(1.0)
_HUMIDITY: Final = Dimension(
    "humidity", "%", {"%": _PERCENT}, 0.0, 100.0, {"us": "%", "metric": "%"}
)
_DIMENSION: Final[dict[Code, Dimension]] = {
    "TMIN": _TEMPERATURE, "TMAX": _TEMPERATURE, "PRCP": _DEPTH, "AWND": _SPEED,
    "ADPT": _TEMPERATURE, "RHAV": _HUMIDITY, "RHMN": _HUMIDITY, "RHMX": _HUMIDITY,
}  # fmt: skip
LOWEST: Final[dict[Code, float]] = {code: of.low for code, of in _DIMENSION.items()}
HIGHEST: Final[dict[Code, float]] = {
    code: {"depth": MOST_RAIN_MM, "speed": MOST_WIND_M_S}.get(of.name, of.high)
    for code, of in _DIMENSION.items()
}

# A thousandth holds both a tenth of a degree and a hundredth of an inch (0.254 mm).
_DECIMALS: Final = 3

TRACE: Final = "T"
MULTIDAY: Final = "A"

# What makes the units doubtful (common practice): a station in degC never passes 60, and one in
# degF passes 59 (15 degC) at least once a year.
_TOO_HOT_VALUES: Final = 3
_COOLEST_YEAR_C: Final = 15.0
_YEAR_VALUES: Final = 1000  # three values a day
_HOTTEST_F: Final = 140.0
_FRACTIONS: Final = 3


@dataclass(frozen=True)
class Scale:
    """How the numbers of a file are written, and what one of them is worth."""

    pattern: re.Pattern[str]
    wording: str
    units: Mapping[Code, Unit]
    is_decimal: bool = False


TENTHS: Final = Scale(
    re.compile(r"[-+]?\d{1,6}", re.ASCII),
    "a whole number of tenths (a value with a decimal point comes from an ordered file)",
    {code: _PERCENT if of is _HUMIDITY else Unit(0.1) for code, of in _DIMENSION.items()},
)
"""Temperature, rain and wind in tenths, humidity in whole percent."""


def ordered_scale(units: Units) -> Scale:
    """Return the scale of an ordered file: degC, mm and m/s, or degF, inches and miles an hour."""
    return Scale(
        re.compile(r"[-+]?(\d{1,12}(\.\d{0,20})?|\.\d{1,20})", re.ASCII),
        "a decimal number",
        {
            code: of.units[of.preferred["us"] if units == "standard" else of.canonical]
            for code, of in _DIMENSION.items()
        },
        is_decimal=True,
    )


class ValueCheck:
    """Judges the cells of one file one by one and keeps the counts in its report."""

    def __init__(self, scale: Scale, report: ReadingReport, last_date: dt.date | None) -> None:
        self._scale = scale
        self._report = report
        self._last_date = last_date
        self._hottest_c = _TEMPERATURE.low
        self._fractions = self._too_hot = 0
        # A file says the same few hundred numbers over and over; what is refused is not kept.
        self._amount = lru_cache(maxsize=8192)(self._read_amount)

    def accept(self, cell: Cell, line_number: int) -> ElementValue | None:
        """Return the value in its canonical unit, None if it is missing or failed a check.

        Raises
        ------
        InvalidInputError
            For what is not a number, an unknown kind of flag, a day to come, a value out of range.
        """
        station_code, date, element, text, measurement_flag, quality_flag = cell
        if quality_flag and self._is_flagged(quality_flag):
            return None
        amount = self._amount(element, text)
        if amount is None:
            self._report.values_missing += 1
            return None
        value, is_fraction = amount
        if self.is_temperature(element):
            self.remember(value, fractions=is_fraction)
        if self._last_date and date > self._last_date:
            raise _not_yet(date, self._last_date)
        if element == "PRCP" and measurement_flag == MULTIDAY:
            self._report.multiday_totals += 1
            return None
        if element == "PRCP" and measurement_flag == TRACE:
            value = 0.0
        self._report.values_accepted += 1
        return ElementValue(line_number, station_code, date, element, value)

    @staticmethod
    def is_temperature(element: Code) -> bool:
        """Tell whether the element tells something of the units."""
        return _DIMENSION[element] is _TEMPERATURE

    def remember(self, value_c: float, *, fractions: int) -> None:
        """Keep what `check_units` asks: the highest of some temperatures, how many are broken."""
        self._fractions += fractions
        self._hottest_c = max(self._hottest_c, value_c)

    def check_units(self, units: Units) -> None:
        """Refuse an ordered file whose temperatures tell that its units were named wrongly."""
        if units == "metric" and self._too_hot >= _TOO_HOT_VALUES:
            raise _doubt(f"{self._too_hot} temperatures are above 60 degC", "standard")
        is_telling = self._fractions >= _FRACTIONS or self._report.values_accepted >= _YEAR_VALUES
        if units == "standard" and is_telling and self._hottest_c < _COOLEST_YEAR_C:
            raise _doubt("No day was warmer than 59 degF", "metric")

    def _is_flagged(self, flag: str) -> bool:
        if flag.isspace():
            return False
        if len(flag) > 1 or not (flag.isascii() and flag.isalnum()):
            raise InvalidInputError(
                f"'{excerpt(flag)}' is not a quality flag.",
                field="flag", remedy="A quality flag is one letter, or blank.",
            )  # fmt: skip
        self._report.dropped_by_flag[flag] += 1
        return True

    def _read_amount(self, element: Code, text: str) -> tuple[float, bool] | None:
        if not self._scale.pattern.fullmatch(text):
            raise InvalidInputError(
                f"'{excerpt(text)}' is not a number.",
                field=element, remedy=f"Write {self._scale.wording}.",
            )  # fmt: skip
        number, unit, of = float(text), self._scale.units[element], _DIMENSION[element]
        if number == MISSING:
            return None
        value = round(number * unit.scale + unit.offset, _DECIMALS)
        if of is _TEMPERATURE and value > of.high:
            self._too_hot += 1
        if not of.low <= value <= HIGHEST[element]:
            raise _out_of_range(element, value, of, maybe_fahrenheit=unit.offset == 0)
        return value, not number.is_integer()


def _not_yet(day: dt.date, last_date: dt.date) -> InvalidInputError:
    return InvalidInputError(
        f"{day} lies after {last_date}: nothing can have been measured yet.",
        field="date", remedy="Correct the date.",
    )  # fmt: skip


def _out_of_range(
    element: Code, value: float, of: Dimension, *, maybe_fahrenheit: bool
) -> InvalidInputError:
    remedy = "Correct the value in the file or leave it out."
    if maybe_fahrenheit and of is _TEMPERATURE and of.high < value <= _HOTTEST_F:
        remedy = "It is probably in degrees Fahrenheit: read the file as standard, or convert it."
    return InvalidInputError(
        f"{value:g} {of.canonical} is not a believable {element} of one day.",
        field=element, code="out-of-range", remedy=remedy,
    )  # fmt: skip


def _doubt(evidence: str, likely: Units) -> InvalidInputError:
    return InvalidInputError(
        f"{evidence}: the units of this file seem to be {likely}.",
        field="units", code="doubtful-units",
        remedy=f"Read the file again with {likely} units, and keep nothing of this reading.",
    )  # fmt: skip
