"""The past weather that a property's ways of watering are replayed on: whole calendar years."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from properties.domain.errors import RefusedError
from properties.models import Property
from scheduling.domain.climate import Climate
from scheduling.domain.daily_climate import DailyClimate
from scheduling.domain.replay_schedules import ReplayDays
from scheduling.domain.run_times import WINTER_TMIN_C
from scheduling.domain.usual_weather import usual_et0_mm, whole_days
from scheduling.selectors.property_weather import PropertyWeather, weather_of_property
from scheduling.selectors.weather import NearStation, stations_near, usual_year_of

USUAL_YEARS: Final = 5
MOST_YEARS: Final = 30
# Common practice: a twentieth of the days, as a window of thirty may lack three tenths of that.
MOST_MISSING_DAYS: Final = 18
_DECEMBER: Final = (12, 31)


@dataclass(frozen=True)
class ReplayWeather:
    """Days without gaps from the first to the last year that has weather.

    `years_left_out` have too few days; those that lie between two others are carried through all
    the same. On `days_usual` days the usual need stood in, and no rain.
    """

    main: NearStation
    days: ReplayDays
    years: tuple[int, ...]
    years_left_out: tuple[tuple[int, int], ...]
    days_filled: int
    days_usual: int

    @property
    def latitude_deg(self) -> float:
        return self.main.station.latitude

    @property
    def is_of_year(self) -> NDArray[np.bool_]:
        """Which calendar years of the days have weather, in order."""
        first = int(str(self.days.dates[0])[:4])
        last = int(str(self.days.dates[-1])[:4])
        return np.isin(np.arange(first, last + 1), self.years)

    @property
    def resting_months(self) -> list[int]:
        """The months in which sprinklers are off."""
        return sorted({int(month) + 1 for month in self.days.month[self.days.is_resting]})


def replay_weather(
    property_: Property, first_year: int | None = None, last_year: int | None = None
) -> ReplayWeather:
    """Return the weather of the years asked for, or of the last five whole ones.

    A year of which more than 18 days are missing, also from the neighbours, is left out.

    Raises
    ------
    RefusedError
        Without a station, and where no year is left.
    """
    near = stations_near(property_)
    last = last_year or _last_whole_year(near)
    first = first_year or last - USUAL_YEARS + 1
    weather = weather_of_property(property_, dt.date(first, 1, 1), dt.date(last, 12, 31), near=near)
    missing = _missing(weather)
    of_year = weather.dates.astype("datetime64[Y]").astype(np.int64) + 1970
    lacking = {year: int(missing[of_year == year].sum()) for year in range(first, last + 1)}
    years = tuple(year for year, days in lacking.items() if days <= MOST_MISSING_DAYS)
    if not years:
        raise RefusedError(
            f"From {first} to {last} there is no year with weather.",
            code="no-weather-years", field="first_year",
            remedy="Import the days of a station nearby, or choose other years.",
        )  # fmt: skip
    kept = (of_year >= years[0]) & (of_year <= years[-1])
    return ReplayWeather(
        main=weather.main,
        days=_without_gaps(weather, kept, usual_year_of(weather.main.station)),
        years=years,
        years_left_out=tuple(
            (year, days) for year, days in lacking.items() if days > MOST_MISSING_DAYS
        ),
        days_filled=weather.gaps.days_filled,
        days_usual=int(missing[kept].sum()),
    )


def days_between(property_: Property, first: dt.date, last: dt.date) -> tuple[ReplayDays, int]:
    """Return all days from one to another, and on how many of them the usual need stands in."""
    weather = weather_of_property(property_, first, last)
    every = np.ones(weather.dates.size, dtype=np.bool_)
    days = _without_gaps(weather, every, usual_year_of(weather.main.station))
    return days, int(_missing(weather).sum())


def _last_whole_year(near: Sequence[NearStation]) -> int:
    last = near[0].last_date
    if last is None:
        raise RefusedError(
            "The station of this property has no whole day of weather.",
            code="no-weather-years", field="first_year", remedy="Import its days first.",
        )  # fmt: skip
    return last.year if (last.month, last.day) == _DECEMBER else last.year - 1


def _missing(weather: PropertyWeather) -> NDArray[np.bool_]:
    et0, rain = (weather.series[name].values for name in ("et0_mm", "rain_mm"))
    return np.isnan(et0) | np.isnan(rain)


def _without_gaps(
    weather: PropertyWeather, kept: NDArray[np.bool_], usual: tuple[Climate, DailyClimate]
) -> ReplayDays:
    climate, by_day = usual
    et0, rain = (weather.series[name].values[kept] for name in ("et0_mm", "rain_mm"))
    days = whole_days(
        weather.dates[kept], et0, rain, lambda gaps: usual_et0_mm(gaps, by_day, lambda: climate)
    )
    months = days.dates.astype("datetime64[M]").astype(np.int64) % 12
    return ReplayDays(
        dates=days.dates,
        et0_mm=days.et0_mm,
        rain_mm=days.rain_mm,
        is_resting=(np.array(climate.tmin_c) <= WINTER_TMIN_C)[months],
    )
