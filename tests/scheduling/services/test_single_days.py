"""Days of weather put in by hand."""

from __future__ import annotations

import datetime as dt

import pytest

from properties.domain.errors import InvalidInputError, RefusedError
from properties.models import Event
from scheduling.domain.evapotranspiration import extraterrestrial_radiation, hargreaves
from scheduling.models import WeatherDay
from scheduling.services.weather import add_weather_day
from tests import cast


@pytest.fixture
def bare(company):
    """A station without any weather."""
    return cast.make_station()


def test_one_day_by_hand_gets_its_et0_and_an_event(bare, office):
    values = {"station": bare, "date": dt.date(2026, 6, 9), "tmin_c": 20.0, "tmax_c": 35.0}

    day = add_weather_day(values, actor=office, now=cast.NOW)

    radiation = extraterrestrial_radiation(bare.latitude, 160)
    assert day.et0_mm == pytest.approx(float(hargreaves(20.0, 35.0, radiation)), abs=5e-5)
    assert (day.rain_mm, WeatherDay.objects.get()) == (None, day)
    event = Event.objects.get(subject_id=bare.pk)
    assert (event.actor, event.after) == (office, {"date": "2026-06-09"})


def test_a_day_that_is_there_is_refused(bare, office):
    values = {"station": bare, "date": dt.date(2026, 6, 9), "rain_mm": 4.0}
    add_weather_day(values, actor=office, now=cast.NOW)

    with pytest.raises(RefusedError) as refusal:
        add_weather_day({**values, "rain_mm": 5.0}, actor=office, now=cast.NOW)

    assert (refusal.value.code, refusal.value.field) == ("day-exists", "date")
    assert list(WeatherDay.objects.values_list("rain_mm")) == [(4.0,)]


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"date": dt.date(2026, 6, 12)}, "date"),
        ({"date": dt.date(1749, 12, 31)}, "date"),
        ({"tmin_c": 20.1, "tmax_c": 20.0}, "tmax_c"),
        ({"rain_mm": None}, "tmin_c"),
    ],
)
def test_a_day_that_cannot_be_is_refused(bare, office, changes, field):
    values = {"station": bare, "date": dt.date(2026, 6, 9), "rain_mm": 4.0, **changes}

    with pytest.raises(InvalidInputError) as refusal:
        add_weather_day(values, actor=office, now=cast.NOW)

    assert refusal.value.field == field
    assert refusal.value.remedy
    assert not WeatherDay.objects.exists()


@pytest.mark.parametrize(
    ("crossed", "field"),
    [
        ({"humidity_min_percent": 80.0, "humidity_max_percent": 60.0}, "humidity_min_percent"),
        ({"dew_point_c": 25.0, "tmax_c": 20.0, "tmin_c": 10.0}, "dew_point_c"),
    ],
)
def test_a_day_by_hand_that_contradicts_itself_is_refused_by_name(office, crossed, field):
    station = cast.make_station()

    with pytest.raises(InvalidInputError) as refusal:
        add_weather_day(
            {"station": station, "date": cast.TODAY, **crossed}, actor=office, now=cast.NOW
        )

    assert (refusal.value.code, refusal.value.field) == ("contradiction", field)
    assert not station.days.exists()
