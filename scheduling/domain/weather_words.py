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
# Common practice, as on a winter visit.
BLOW_OUT_CAUTION: Final = (
    "Blow pipes out with air only below the pressure that all of their parts bear, with eye "
    "protection and nobody over a head; where a licence is asked for it, leave it to who holds one."
)


@dataclass(frozen=True)
class FrostAhead:
    """The first forecast night at or below the frost threshold; `temperature_c` is its minimum.

    `days` is the number of such nights in the days that the forecast is worth.
    """

    first_date: dt.date
    temperature_c: float
    threshold_c: float
    days: int
    code: str = "frost-ahead"

    @property
    def is_forecast(self) -> bool:
        return True

    @property
    def days_forecast(self) -> int:
        return self.days

    def sentence(self, system: System) -> str:
        return f"{self._coming(system)}: stop the sprinklers before it."

    def _coming(self, system: System) -> str:
        cold = shown(self.temperature_c, "temperature", system)
        more = f", the first of {self.days} such nights in a week" if self.days > 1 else ""
        return f"By the forecast {spelled(self.first_date, system)} falls to {cold}{more}"


@dataclass(frozen=True)
class HardFrostAhead(FrostAhead):
    """A frost that bursts what holds water."""

    code: str = "hard-frost-ahead"

    def sentence(self, system: System) -> str:
        return (
            f"{self._coming(system)}, a hard frost: stop the sprinklers before it, and drain or "
            f"insulate what holds water. {BLOW_OUT_CAUTION}"
        )


@dataclass(frozen=True)
class HeatRun:
    """Hot days in a row that are not over yet; `temperature_c` is the hottest maximum of them.

    `days_unknown_after` are those up to yesterday of which nothing is known.
    """

    first_date: dt.date
    last_date: dt.date
    days: int
    temperature_c: float
    threshold_c: float
    days_forecast: int
    days_unknown_after: int = 0
    code: str = "heat-run"

    @property
    def is_forecast(self) -> bool:
        return self.days_forecast > 0

    def sentence(self, system: System) -> str:
        least = shown(self.threshold_c, "temperature", system)
        first, last = spelled(self.first_date, system), spelled(self.last_date, system)
        return (
            f"{self.days} days in a row, {first} to {last}{self._forecast()}, reach {least} or "
            f"more{unknown_since(self.days_unknown_after)}: "
            "plants need water more often, not longer."
        )

    def _forecast(self) -> str:
        if not self.days_forecast:
            return ""
        share = "all" if self.days_forecast == self.days else f"{self.days_forecast} of them"
        return f", {share} by the forecast"


@dataclass(frozen=True)
class SoakingRain:
    """A rain that fills the root zone, and until when it covers the need.

    It fell, or will, from `first_date` to `last_date`, on which the store is full; `forecast_mm` of
    `rain_mm` is still to come. `days_unknown` are the days from the first one up to yesterday whose
    rain is unknown. On `days_watered` of the days before the last one a watering helped to fill it:
    nobody saw it, it is taken from the setting.
    """

    first_date: dt.date
    last_date: dt.date
    rain_mm: float
    forecast_mm: float
    effective_mm: float
    skip_days: int
    days_forecast: int
    days_unknown: int = 0
    days_watered: int = 0
    code: str = "soaking-rain"

    @property
    def days(self) -> int:
        return (self.last_date - self.first_date).days + 1

    @property
    def is_forecast(self) -> bool:
        return self.days_forecast > 0

    @property
    def resume_date(self) -> dt.date:
        """The first day that needs water again."""
        return self.last_date + dt.timedelta(days=self.skip_days + 1)

    def sentence(self, system: System) -> str:
        lasts = f"the soil for {counted(self.skip_days)} after it{self._notes()}"
        if self.is_forecast:
            return (
                f"By the forecast {self._coming(system)} enough to fill {lasts}: "
                "look at the gauge before watering on."
            )
        fell, when = shown(self.rain_mm, "rain", system), self._when(system, self.days)
        return (
            f"{fell} of rain {when} filled {lasts}: "
            f"skip watering until {spelled(self.resume_date, system)}."
        )

    def _notes(self) -> str:
        notes = []
        if self.days_unknown:
            notes.append(f"the rain of {counted(self.days_unknown)} is unknown and counts as none")
        if self.days_watered:
            notes.append(f"with the watering of {counted(self.days_watered)}, by the setting")
        return f" ({'; '.join(notes)})" if notes else ""

    def _coming(self, system: System) -> str:
        coming = shown(self.forecast_mm, "rain", system)
        told = f"about {coming} of rain comes {self._when(system, self.days_forecast)}"
        fallen_mm = self.rain_mm - self.forecast_mm
        if not fallen_mm > 0:
            return f"{told},"
        return f"{told}. With the {shown(fallen_mm, 'rain', system)} that fell before it is"

    def _when(self, system: System, days: int) -> str:
        last = spelled(self.last_date, system)
        return f"on {last}" if days == 1 else f"in the {days} days up to {last}"


@dataclass(frozen=True)
class DrySpell:
    """The days up to now without rain that plants get anything of.

    `days_unknown` of them are unknown, and so are `days_unknown_after` that follow.
    """

    first_date: dt.date
    last_date: dt.date
    days: int
    days_unknown: int
    rain_mm: float
    days_unknown_after: int = 0
    code: str = "dry-spell"

    def sentence(self, system: System) -> str:
        unknown = f" ({self.days_unknown} of them unknown)" if self.days_unknown else ""
        last = f" up to {spelled(self.last_date, system)}" if self.days_unknown_after else ""
        return (
            f"No useful rain has fallen for {self.days} days{unknown}, "
            f"since {spelled(self.first_date, system)}{last}"
            f"{unknown_since(self.days_unknown_after)}."
        )


Fact = FrostAhead | HeatRun | SoakingRain | DrySpell


def shown(value: float, of: str, system: System) -> str:
    """Return a temperature [degC] or a rain [mm] rounded once, with the reader's unit."""
    unit = preferred_unit(dimension(of), system)
    number = from_canonical(value, unit, dimension(of))
    return f"{number:.{_DECIMALS[unit]}f} {_SYMBOLS.get(unit, unit)}".replace("-0 ", "0 ")


def counted(days: int) -> str:
    return "1 day" if days == 1 else f"{days} days"


def unknown_since(days: int) -> str:
    """Return the remark that nothing is known of so many days up to yesterday."""
    return f" (the last {counted(days)} before today unknown)" if days else ""


def spelled(day: dt.date, system: System) -> str:
    """Return day and month, the month spelled out: a fact is of these days, so without year."""
    month = _MONTHS[day.month - 1]
    return f"{month} {day.day}" if system == "us" else f"{day.day} {month}"
