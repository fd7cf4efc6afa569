"""Facts of the weather and the sentence in which a client hears each of them."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Final

from properties.domain.units import System, dimension, from_canonical, preferred_unit

_SYMBOLS: Final = {"degC": "°C", "degF": "°F"}
_DECIMALS: Final = {"in": 2, "mm": 0, "degC": 0, "degF": 0}
_MONTHS: Final = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip


@dataclass(frozen=True)
class FrostAhead:
    """The first forecast night at or below the frost threshold; `temperature_c` is its minimum."""

    first_date: dt.date
    temperature_c: float
    threshold_c: float
    code: str = "frost-ahead"

    def sentence(self, system: System) -> str:
        cold = shown(self.temperature_c, "temperature", system)
        return (
            f"{spelled(self.first_date, system)} is forecast to fall to {cold}: "
            "stop the sprinklers before it."
        )


@dataclass(frozen=True)
class HeatRun:
    """Hot days in a row that are not over yet; `temperature_c` is the hottest maximum of them."""

    first_date: dt.date
    last_date: dt.date
    days: int
    temperature_c: float
    threshold_c: float
    is_forecast: bool
    code: str = "heat-run"

    def sentence(self, system: System) -> str:
        least = shown(self.threshold_c, "temperature", system)
        first, last = spelled(self.first_date, system), spelled(self.last_date, system)
        forecast = ", the last by the forecast" if self.is_forecast else ""
        return (
            f"{self.days} days in a row, {first} to {last}{forecast}, reach {least} or more: "
            "plants need water more often, not longer."
        )


@dataclass(frozen=True)
class SoakingRain:
    """A rain that refills the root zone, and until when it covers the need."""

    first_date: dt.date
    last_date: dt.date
    rain_mm: float
    effective_mm: float
    skip_days: int
    is_forecast: bool
    code: str = "soaking-rain"

    @property
    def resume_date(self) -> dt.date:
        """The first day that needs water again."""
        return self.last_date + dt.timedelta(days=self.skip_days + 1)

    def sentence(self, system: System) -> str:
        rain, last = shown(self.rain_mm, "rain", system), spelled(self.last_date, system)
        if self.is_forecast:
            return (
                f"About {rain} of rain is forecast up to {last}, enough to refill the soil: "
                "look at the gauge before watering on."
            )
        return (
            f"{rain} of rain up to {last} refilled the soil: "
            f"skip watering until {spelled(self.resume_date, system)}."
        )


@dataclass(frozen=True)
class DrySpell:
    """The days up to now without rain that plants get anything of."""

    first_date: dt.date
    last_date: dt.date
    days: int
    days_unknown: int
    rain_mm: float
    code: str = "dry-spell"

    def sentence(self, system: System) -> str:
        unknown = f" ({self.days_unknown} of them unknown)" if self.days_unknown else ""
        return (
            f"No useful rain has fallen for {self.days} days{unknown}, "
            f"since {spelled(self.first_date, system)}."
        )


Fact = FrostAhead | HeatRun | SoakingRain | DrySpell


def shown(value: float, of: str, system: System) -> str:
    """Return a temperature [degC] or a rain [mm] rounded once, with the reader's unit."""
    unit = preferred_unit(dimension(of), system)
    number = from_canonical(value, unit, dimension(of))
    return f"{number:.{_DECIMALS[unit]}f} {_SYMBOLS.get(unit, unit)}".replace("-0 ", "0 ")


def spelled(day: dt.date, system: System) -> str:
    """Return day and month, the month spelled out: a fact is of these days, so without year."""
    month = _MONTHS[day.month - 1]
    return f"{month} {day.day}" if system == "us" else f"{day.day} {month}"
