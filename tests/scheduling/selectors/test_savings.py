"""Whether a change saved what was promised, by the stored meter readings of a property."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest

from audits.models import MeterReading
from properties.domain.errors import InvalidInputError, RefusedError
from properties.models import Zone
from scheduling.domain.savings import Promise, ToldBy
from scheduling.models import Replay, WeatherDay
from scheduling.selectors.savings import promised_litres, property_saving
from tests import cast
from tests.scheduling.replay_rows import make_answer, make_readings, make_setting

FIRST = dt.date(2018, 1, 1)
CHANGE = FIRST + dt.timedelta(days=510)


@pytest.fixture
def ready(visit, zone, station):
    """Months 11 to 3 freeze, so that the meter shows what the house uses."""
    cast.make_catch_test(visit, zone)
    cold = WeatherDay.objects.filter(station=station, date__month__in=[11, 12, 1, 2, 3])
    cold.update(tmin_c=-5.0)
    make_setting(zone.controller, {zone: 20}, since=dt.date(2017, 5, 1))
    return zone


def meter(garden, shares, base=200.0, noise=0.05, seed=4):
    """Thirty-day readings of three years: shares of 20 L/d for each mm of need, and the base."""
    random = np.random.default_rng(seed)
    used = []
    for number in range(35):
        days = [FIRST + dt.timedelta(days=30 * number + each + 1) for each in range(30)]
        share = shares[days[-1] > CHANGE]
        rows = WeatherDay.objects.filter(station__code="ZZTEST00001", date__in=days)
        need = sum(row.et0_mm for row in rows if 4 <= row.date.month <= 10)
        used.append(share * 200.0 * need * (1 + noise * random.normal()) + base * 30)
    make_readings(garden, FIRST, used)


@pytest.mark.parametrize("reference", ["ideal", "found"])
def test_a_saving_is_seen_and_a_promise_held_against_it(garden, ready, reference):
    meter(garden, (1.4, 0.8))
    garden.water_price_per_m3 = 2
    garden.save()

    found = property_saving(garden, CHANGE, reference=reference, promised_l=1e9)

    assert found.saving.missing == ()
    assert found.saving.litres_low > 0
    assert found.saving.base_l_day == pytest.approx(200, rel=0.1)
    assert found.verdict is Promise.LESS
    assert found.money == pytest.approx(found.saving.litres / 1000 * 2)
    assert (found.zones, found.zones_left_out, found.readings) == (1, 0, 36)


def test_no_change_saves_nothing(garden, ready):
    meter(garden, (1.2, 1.2))

    found = property_saving(garden, CHANGE, reference="ideal", promised_l=0.0)

    assert found.saving.litres_low < 0 < found.saving.litres_high
    assert found.verdict is Promise.KEPT


def test_the_setting_before_the_change_takes_the_weather_out(garden, ready):
    meter(garden, (1.2, 1.2))
    before = property_saving(garden, CHANGE, reference="found")
    make_setting(ready.controller, {ready: 5}, since=CHANGE, source="set_by_us")

    assert property_saving(garden, CHANGE, reference="found") == before


def test_where_no_setting_is_known_frozen_months_tell_the_base_or_else_the_watered_ones(
    garden, ready
):
    meter(garden, (1.4, 0.8))
    ready.controller.settings.update(since=CHANGE + dt.timedelta(days=600))
    frozen = property_saving(garden, CHANGE, reference="ideal").saving
    WeatherDay.objects.update(tmin_c=5.0)

    mild = property_saving(garden, CHANGE, reference="ideal").saving

    assert frozen.base_l_day == pytest.approx(200, rel=0.1)
    assert (frozen.base_told_by, mild.base_told_by) == (ToldBy.IDLE, ToldBy.USE)
    assert mild.periods_idle == 0


def test_without_readings_it_is_unknown_and_said(garden, ready):
    found = property_saving(garden, CHANGE, reference="ideal", promised_l=5.0)

    assert (found.saving.litres, found.money) == (None, None)
    assert [each.code for each in found.saving.missing] == ["no-readings"]
    assert found.verdict is Promise.UNKNOWN


def test_readings_without_weather_are_unknown_and_said(garden, ready):
    make_readings(garden, dt.date(2023, 1, 1), [5000.0] * 24)

    found = property_saving(garden, dt.date(2024, 1, 1), reference="ideal")

    assert [each.code for each in found.saving.missing] == ["no-weather"]


def test_a_meter_that_was_changed_costs_its_period_alone(garden, ready):
    meter(garden, (1.4, 0.8))
    whole = property_saving(garden, CHANGE, reference="ideal").saving
    newest = list(MeterReading.objects.order_by("-read_at")[:3])
    for number, reading in enumerate(reversed(newest)):
        reading.reading_l = 100.0 * number
        reading.meter_changed, reading.note = number == 0, "new meter"
        reading.save()

    cut = property_saving(garden, CHANGE, reference="ideal").saving

    assert cut.litres is not None
    assert cut.periods_after + cut.periods_idle + cut.periods_before == (
        whole.periods_after + whole.periods_idle + whole.periods_before - 1
    )


def test_zones_without_area_are_counted_and_none_at_all_is_refused(garden, controller, ready):
    bare = cast.make_zone(controller, number=2)
    meter(garden, (1.4, 0.8))
    found = property_saving(garden, CHANGE, reference="ideal")
    assert (found.zones, found.zones_left_out) == (1, 1)

    bare.is_active = False
    bare.save()
    Zone.objects.update(area_m2=None)
    with pytest.raises(RefusedError, match="area") as refusal:
        property_saving(garden, CHANGE, reference="ideal")
    assert refusal.value.code == "nothing-to-replay"


def test_the_promise_is_that_of_a_stored_replay(garden, other_garden, ready, office):
    answer = make_answer(garden, office)
    row = Replay.objects.get()

    promised = promised_litres(garden, row.pk, "ideal")

    assert promised == -answer["variants"][1]["difference"]["litres"]
    assert promised > 0
    for place, name in ((garden, "found"), (garden, "other"), (other_garden, "ideal")):
        with pytest.raises(InvalidInputError, match="no answered replay"):
            promised_litres(place, row.pk, name)
