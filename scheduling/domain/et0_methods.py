"""How the ET0 of a day is computed: the words for it, and the choice by what was measured."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

import numpy as np
from numpy.typing import NDArray

from scheduling.domain.air import wind_at_2m
from scheduling.domain.bounds import Numbers
from scheduling.domain.climate import LARGEST_ET0_MM
from scheduling.domain.et0_calibration import calibrated
from scheduling.domain.evapotranspiration import hargreaves, penman_monteith
from scheduling.domain.humidity import actual_vapour_pressure
from scheduling.domain.sunlight import (
    INLAND_COEFFICIENT,
    clear_sky_radiation,
    extraterrestrial_radiation,
    solar_from_temperatures,
)

_MISSING: Final = float("nan")
_Floats = NDArray[np.float64]


class Et0Method(StrEnum):
    """From the least to the most that a station must measure."""

    HARGREAVES = "hargreaves"
    """Temperatures alone."""
    CALIBRATED = "calibrated"
    """Temperatures alone, brought to what the station's fuller days gave."""
    PENMAN_MONTEITH = "penman_monteith"
    """Temperatures, humidity and wind; sunshine measured, or estimated from the temperatures."""


@dataclass(frozen=True)
class StationDays:
    """What stations measured on days, one entry a day; NaN is missing, and so is a slope of NaN.

    Temperatures [degC], humidities [%], mean wind at the anemometer's height [m s-1], solar
    radiation on the ground [MJ m-2 d-1]; position [degrees, m]; the coefficient by which the
    temperatures tell the sun [degC-0.5]; slope and offset [mm] of the station's calibration.
    """

    tmin_c: _Floats
    tmax_c: _Floats
    latitude_deg: _Floats
    day_of_year: _Floats
    elevation_m: _Floats
    anemometer_height_m: _Floats
    dew_point_c: Numbers = _MISSING
    humidity_min_percent: Numbers = _MISSING
    humidity_max_percent: Numbers = _MISSING
    humidity_percent: Numbers = _MISSING
    wind_m_s: Numbers = _MISSING
    solar_mj_m2: Numbers = _MISSING
    sun_coefficient: Numbers = INLAND_COEFFICIENT
    slope: Numbers = _MISSING
    offset_mm: Numbers = _MISSING

    def by_temperatures(self) -> Numbers:
        """Return the ET0 that the temperatures alone give [mm d-1]."""
        return hargreaves(self.tmin_c, self.tmax_c, self._radiation())

    def in_full(self) -> Numbers:
        """Return the ET0 by Penman-Monteith [mm d-1], NaN without humidity or wind.

        Where the sunshine was not measured it is judged by the temperatures, and at most that of a
        clear sky (FAO-56, eq. 50). Values that are believable one by one, but not together, are
        NaN: more than `LARGEST_ET0_MM` would keep a station from having a usual year.
        """
        et0_mm = penman_monteith(
            self.tmin_c,
            self.tmax_c,
            self._vapour_pressure_kpa(),
            self._solar_mj_m2(),
            wind_at_2m(self.wind_m_s, self.anemometer_height_m),
            self.latitude_deg,
            self.day_of_year,
            self.elevation_m,
        )
        return np.where(et0_mm > LARGEST_ET0_MM, np.nan, et0_mm)

    def _radiation(self) -> Numbers:
        return extraterrestrial_radiation(self.latitude_deg, self.day_of_year)

    def _vapour_pressure_kpa(self) -> Numbers:
        return actual_vapour_pressure(
            self.tmin_c,
            self.tmax_c,
            dew_point_c=self.dew_point_c,
            humidity_min_percent=self.humidity_min_percent,
            humidity_max_percent=self.humidity_max_percent,
            humidity_percent=self.humidity_percent,
        )

    def _solar_mj_m2(self) -> Numbers:
        ra = self._radiation()
        judged = np.minimum(
            solar_from_temperatures(self.tmin_c, self.tmax_c, ra, coefficient=self.sun_coefficient),
            clear_sky_radiation(ra, self.elevation_m),
        )
        return np.where(np.isnan(self.solar_mj_m2), judged, self.solar_mj_m2)


def best_et0(days: StationDays) -> tuple[_Floats, NDArray[np.str_]]:
    """Return the ET0 of each day by the best method that its values allow [mm d-1], and which.

    1. Penman-Monteith, where temperatures, wind and any humidity are there.
    2. Else the temperatures alone, calibrated where the station has a calibration.
    3. Else the temperatures alone. Without both temperatures ET0 is NaN and the method "".

    Raises
    ------
    InvalidInputError
        For crossed temperatures, or a value out of its range, naming it.

    References
    ----------
    FAO-56, chapter 4: the full equation is the standard; eq. 52 is for days that lack the rest.
    """
    plain = np.asarray(days.by_temperatures())
    local = np.asarray(calibrated(plain, days.slope, days.offset_mm))
    full = np.asarray(days.in_full())
    known = [~np.isnan(full), ~np.isnan(local), ~np.isnan(plain)]
    words = [Et0Method.PENMAN_MONTEITH, Et0Method.CALIBRATED, Et0Method.HARGREAVES]
    et0: _Floats = np.select(known, [full, local, plain], np.nan)
    return et0, np.select(known, [word.value for word in words], "")
