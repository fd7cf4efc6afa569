"""Days of an analysis beside those of the station: value by value, and marked."""

from __future__ import annotations

import datetime as dt

import pytest

from properties.domain.errors import RefusedError
from properties.models import Job
from scheduling.models import WeatherDay
from scheduling.selectors.property_weather import weather_of_property
from scheduling.services.calibrations import ask_for_refits, calibrate_station
from scheduling.services.weather import add_weather_day
from tests import cast
from tests.scheduling.observed_files import YESTERDAY, days_before, lines, past_arrays, told
from tests.scheduling.services.forecast_server import answer

pytestmark = pytest.mark.django_db
DAY = dt.timedelta(days=1)
HOUR = dt.timedelta(hours=1)


@pytest.fixture
def analyse(observe):
    """Return a function that fetches an analysis of some days."""

    def fetch(*dates, now=cast.NOW, **columns):
        return observe(answer(past_arrays(*dates, **columns)), style="daily_arrays", now=now)

    return fetch


def test_an_analysis_never_touches_what_was_observed(observe, analyse):
    observe(told(lines(YESTERDAY)))
    before = WeatherDay.objects.values().get()

    outcome = analyse(YESTERDAY)

    assert (outcome.is_good, outcome.added, outcome.changed) == (True, 0, 0)
    assert WeatherDay.objects.values().get() == before


def test_it_completes_a_day_and_marks_what_it_gave(observe, analyse):
    observe(told(lines(YESTERDAY).replace(b"TMIN", b"SNOW").replace(b"TMAX", b"SNWD")))
    assert WeatherDay.objects.get().et0_mm is None

    analyse(YESTERDAY)

    day = WeatherDay.objects.get()
    assert (day.rain_mm, day.tmin_c, day.tmax_c) == (1.5, 11.0, 25.0)
    assert day.analysed_names() == ("tmin_c", "tmax_c")
    assert day.et0_mm > 3


def test_the_stations_value_takes_its_place_one_by_one(observe, analyse):
    analyse(YESTERDAY)
    outcome = observe(told(lines(YESTERDAY).replace(b"TMIN", b"SNOW").replace(b"TMAX", b"SNWD")))

    day = WeatherDay.objects.get()
    assert (day.rain_mm, day.tmax_c) == (1.5, 25.0)
    assert day.analysed_names() == ("tmin_c", "tmax_c")
    assert (outcome.changed, outcome.corrected) == (1, 0)


def test_an_observed_value_that_equals_the_analysed_one_takes_the_mark_away(observe, analyse):
    analyse(YESTERDAY)
    observe(told(lines(YESTERDAY, tmin=110, tmax=250, rain=25)))

    assert WeatherDay.objects.get().analysed_names() == ()


def test_an_analysed_value_that_contradicts_an_observed_one_goes(observe, analyse):
    analyse(YESTERDAY)
    observe(told(lines(YESTERDAY, tmin=270).replace(b"TMAX", b"SNOW")))

    day = WeatherDay.objects.get()
    assert (day.tmin_c, day.tmax_c, day.analysed_names()) == (27.0, None, ())
    assert analyse(YESTERDAY).is_good
    day.refresh_from_db()
    assert (day.tmin_c, day.tmax_c) == (27.0, None)


def test_a_later_analysis_corrects_an_earlier_one(analyse):
    analyse(YESTERDAY)
    outcome = analyse(YESTERDAY, temperature_2m_max=[29.0], now=cast.NOW + HOUR)

    assert (outcome.changed, outcome.corrected) == (1, 1)
    assert WeatherDay.objects.get().tmax_c == 29.0


def test_the_same_analysis_twice_is_once(analyse):
    columns = {"wind_speed_10m_mean": [3.0], "shortwave_radiation_sum": [24.0]}
    analyse(YESTERDAY, **columns)
    before = WeatherDay.objects.values().get()
    outcome = analyse(YESTERDAY, **columns, now=cast.NOW + HOUR)

    assert (outcome.added, outcome.changed) == (0, 0)
    assert WeatherDay.objects.values().get() == before


def test_its_wind_is_brought_to_the_height_of_the_anemometer(place, analyse):
    type(place).objects.update(anemometer_height_m=2.0)

    analyse(YESTERDAY, wind_speed_10m_mean=[4.0], relative_humidity_2m_mean=[60.0],
            shortwave_radiation_sum=[24.0])  # fmt: skip

    day = WeatherDay.objects.get()
    # FAO-56, equation 47: wind at 2 m = wind at 10 m x 4.87 / ln(67.8 x 10 - 5.42) = 0.748 of it
    assert day.wind_m_s == pytest.approx(4.0 * 0.748, abs=0.01)
    assert (day.solar_mj_m2, day.humidity_percent) == (24.0, 60.0)
    assert day.et0_method == "penman_monteith"


def test_a_wind_that_no_day_has_is_left_out_after_that(place, analyse):
    type(place).objects.update(anemometer_height_m=100.0)

    assert analyse(YESTERDAY, wind_speed_10m_mean=[74.0]).is_good
    assert WeatherDay.objects.get().wind_m_s is None


def test_what_a_model_made_of_days_calibrates_no_station(place, analyse, settings):
    settings.OBSERVATION_MOST_DAYS = 400
    dates = days_before(400)
    full = {
        "wind_speed_10m_mean": [3.0] * 400, "relative_humidity_2m_mean": [60.0] * 400,
        "shortwave_radiation_sum": [24.0] * 400,
    }  # fmt: skip
    assert analyse(*dates, **full).added == 400
    assert set(WeatherDay.objects.values_list("et0_method", flat=True)) == {"penman_monteith"}

    ask_for_refits([place], now=cast.NOW)
    assert not Job.objects.exists()
    with pytest.raises(RefusedError) as refusal:
        calibrate_station(place, now=cast.NOW)
    assert refusal.value.code == "too-few-days"


def test_a_day_by_hand_takes_the_place_of_an_analysis_only(place, analyse):
    analyse(YESTERDAY)
    values = {"station": place, "date": YESTERDAY, "tmin_c": 9.0, "tmax_c": 21.0}

    day = add_weather_day(values, actor=None, now=cast.NOW)

    assert WeatherDay.objects.get() == day
    day.refresh_from_db()
    assert (day.tmax_c, day.rain_mm, day.analysed_names()) == (21.0, None, ())
    with pytest.raises(RefusedError) as refusal:
        add_weather_day(values, actor=None, now=cast.NOW)
    assert refusal.value.code == "day-exists"


def test_the_weather_of_a_property_says_which_values_are_analysed(place, observe, analyse):
    garden = cast.make_property()
    observe(told(lines(YESTERDAY - DAY)))
    analyse(YESTERDAY)

    series = weather_of_property(garden, YESTERDAY - DAY, YESTERDAY).series

    assert {name: each.marks.tolist() for name, each in series.items()} == {
        "tmin_c": [0, 3], "tmax_c": [0, 3], "rain_mm": [0, 3], "et0_mm": [0, 3],
    }  # fmt: skip
