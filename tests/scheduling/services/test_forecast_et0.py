from __future__ import annotations

import math

import pytest

from scheduling.domain.evapotranspiration import extraterrestrial_radiation, hargreaves
from scheduling.models import ForecastDay, StationCalibration, WeatherDay
from scheduling.services.et0 import compute_et0
from scheduling.services.forecast_et0 import forecast_et0
from tests import cast
from tests.scheduling.forecast_files import arrays, grid
from tests.scheduling.services.forecast_server import answer

NOW = cast.NOW

pytestmark = pytest.mark.django_db


def test_et0_is_ours_and_the_providers_stands_beside_it(place, fetch):
    fetch(answer(arrays()))

    first, _, third = place.forecast_days.order_by("date")
    radiation = extraterrestrial_radiation(place.latitude, first.date.timetuple().tm_yday)
    assert first.et0_mm == pytest.approx(float(hargreaves(15.0, 30.0, radiation)), abs=1e-3)
    assert first.provider_et0_mm == 6.1
    assert (third.et0_mm, third.provider_et0_mm) == (None, None)


def test_et0_goes_by_the_stations_calibration(place, fetch):
    fetch(answer(arrays()))
    plain = place.forecast_days.earliest("date").et0_mm
    StationCalibration.objects.create(
        station=place, slope=1.1, offset_mm=0.5, days=400, first_date=cast.TODAY,
        last_date=cast.TODAY, bias_before_mm=0, rmse_before_mm=1, rmse_after_mm=1, computed_at=NOW,
    )  # fmt: skip

    fetch(answer(arrays()))
    calibrated = place.forecast_days.earliest("date").et0_mm
    assert calibrated == pytest.approx(0.5 + 1.1 * plain, abs=1e-3)


def test_et0_takes_humidity_and_wind_at_ten_metres_where_they_are(place, fetch):
    fetch(answer(grid()), style="grid_durations")
    at_ten = place.forecast_days.earliest("date").et0_mm
    place.anemometer_height_m = 2.0
    place.save()

    fetch(answer(grid()), style="grid_durations")
    assert place.forecast_days.earliest("date").et0_mm == at_ten
    assert at_ten == pytest.approx(by_the_paper(place.latitude, place.elevation_m), abs=0.02)


def by_the_paper(latitude_deg: float, z: float) -> float:
    """FAO-56 written out for 15 to 30 degC, 60 %, 4 m/s at 10 m, on 10 June (day 161)."""
    phi, j = math.radians(latitude_deg), 161

    def e(t):
        return 0.6108 * math.exp(17.27 * t / (t + 237.3))  # eq. 11

    es = (e(30) + e(15)) / 2  # eq. 12
    ea = 0.60 * es  # eq. 19
    dr = 1 + 0.033 * math.cos(2 * math.pi * j / 365)  # eq. 23
    sun = 0.409 * math.sin(2 * math.pi * j / 365 - 1.39)  # eq. 24
    ws = math.acos(-math.tan(phi) * math.tan(sun))  # eq. 25
    ra = (
        24
        * 60
        / math.pi
        * 0.0820
        * dr
        * (ws * math.sin(phi) * math.sin(sun) + math.cos(phi) * math.cos(sun) * math.sin(ws))
    )  # eq. 21
    rso = (0.75 + 2e-5 * z) * ra  # eq. 37
    rs = min(0.16 * math.sqrt(15) * ra, rso)  # eq. 50
    rnl = (
        4.903e-9 * (303.16**4 + 288.16**4) / 2 * (0.34 - 0.14 * math.sqrt(ea))
        * (1.35 * rs / rso - 0.35)
    )  # eq. 39  # fmt: skip
    rn = 0.77 * rs - rnl  # eq. 38, 40
    gamma = 0.665e-3 * 101.3 * ((293 - 0.0065 * z) / 293) ** 5.26  # eq. 7, 8
    slope = 4098 * e(22.5) / (22.5 + 237.3) ** 2  # eq. 13
    u2 = 4 * 4.87 / math.log(67.8 * 10 - 5.42)  # eq. 47
    return (0.408 * slope * rn + gamma * 900 / (22.5 + 273) * u2 * (es - ea)) / (
        slope + gamma * (1 + 0.34 * u2)
    )  # eq. 6


def test_the_sun_of_a_coastal_station_is_judged_as_for_its_observed_days(company):
    station = cast.make_station(is_coastal=True)
    values = {"tmin_c": 14.0, "tmax_c": 27.0, "humidity_percent": 55.0, "wind_m_s": 3.0}
    observed = WeatherDay(station=station, date=cast.TODAY, **values)
    compute_et0([observed])

    (forecast,) = forecast_et0(station, [ForecastDay(station=station, date=cast.TODAY, **values)])

    assert forecast == observed.et0_mm
    assert observed.et0_method == "penman_monteith"
