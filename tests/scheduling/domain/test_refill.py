from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from properties.domain.errors import InvalidInputError
from scheduling.domain.refill import RefillRule, RefillWeather, RefillZones, refill_when_due
from scheduling.domain.water_balance import RootZone, Waterings, simulate
from tests.scheduling.domain.refill_cases import RULE, cases, modest, steady


@modest
@given(cases())
def test_its_account_is_the_water_account(case):
    weather, zones = case

    refills = refill_when_due(weather, zones, RULE)

    account = simulate(
        weather.need_mm,
        weather.effective_rain_mm,
        Waterings(gross_mm=refills.gross_mm, net_fraction=zones.net_fraction),
        RootZone(storage_mm=zones.storage_mm, start_mm=zones.start_mm),
    )
    np.testing.assert_allclose(refills.stored_mm, account.stored_mm, atol=1e-9)
    np.testing.assert_allclose(refills.deficit_mm, account.deficit_mm, atol=1e-9)


@modest
@given(cases(), st.integers(0, 59))
def test_a_decision_knows_no_weather_of_its_own_day_or_later(case, day):
    weather, zones = case
    day = day % len(weather.need_mm)
    need, rain = weather.need_mm.copy(), weather.effective_rain_mm.copy()
    need[max(day, 1) :] = 9.9  # the first day takes its own need for the expected one
    rain[day:] = 77.0
    other = RefillWeather(need, rain, forecast_rain_mm=weather.forecast_rain_mm)

    told = refill_when_due(weather, zones, RULE).net_mm
    untold = refill_when_due(other, zones, RULE).net_mm

    np.testing.assert_array_equal(told[: day + 1], untold[: day + 1])


@modest
@given(cases())
def test_soil_roots_and_days_between_bind_every_watering(case):
    weather, zones = case

    refills = refill_when_due(weather, zones, RULE)

    before = np.vstack((zones.start_mm, refills.stored_mm[:-1]))
    assert (refills.gross_mm <= zones.day_limit_mm + 1e-9).all()
    assert (before + refills.net_mm <= zones.storage_mm + 1e-9).all()
    watered = refills.net_mm > 0
    for zone, shortest in enumerate(zones.min_days_between):
        assert (np.diff(np.flatnonzero(watered[:, zone])) >= shortest).all()


@modest
@given(cases())
def test_zones_do_not_touch_their_neighbours(case):
    weather, zones = case
    last = -1

    alone = refill_when_due(
        RefillWeather(
            weather.need_mm[:, last:],
            weather.effective_rain_mm[:, last:],
            forecast_rain_mm=None
            if weather.forecast_rain_mm is None
            else weather.forecast_rain_mm[:, last:],
        ),
        RefillZones(**{name: values[last:] for name, values in vars(zones).items()}),
        RULE,
    )

    among = refill_when_due(weather, zones, RULE)
    np.testing.assert_array_equal(alone.net_mm[:, 0], among.net_mm[:, last])


def test_a_steady_summer_by_hand():
    # Arithmetic: store 40 mm, filled to 30 (10 mm of room), due when it would fall below 14.
    refills = refill_when_due(steady(5.0, days=11), RefillZones(storage_mm=[40.0]), RULE)

    assert np.flatnonzero(refills.net_mm).tolist() == [5, 8]
    assert refills.net_mm[[5, 8], 0].tolist() == [15.0, 15.0]
    assert refills.stored_mm[:, 0].tolist() == [35, 30, 25, 20, 15, 25, 20, 15, 25, 20, 15]
    assert (refills.waterings == (refills.net_mm > 0)).all()


def test_as_it_warms_the_days_between_shrink_and_the_depth_stays():
    # TRADE-04, common practice.
    def watered(need_mm):
        net = refill_when_due(steady(need_mm, 200), RefillZones(storage_mm=[30.0]), RULE).net_mm
        days = np.flatnonzero(net)[1:]
        return np.diff(days).mean(), net[days].mean()

    (cool_days, cool_mm), (hot_days, hot_mm) = watered(2.0), watered(6.0)

    assert cool_days > 2.5 * hot_days
    assert cool_mm == pytest.approx(hot_mm, rel=0.25)


def test_steady_weather_is_never_short():
    refills = refill_when_due(steady(6.0, 300), RefillZones(storage_mm=[8.0, 14.0, 60.0]), RULE)

    assert refills.deficit_mm.max() == 0.0


def test_room_for_rain_is_left_unless_the_day_wants_it():
    # Arithmetic: 40 % of 14 mm and of 8 mm, at most 10 mm of 60 mm; of 8 mm the day wants 6.
    start = RefillZones(storage_mm=[8.0, 14.0, 60.0], start_mm=[0.0, 0.0, 0.0])

    refills = refill_when_due(steady(6.0, 1), start, RULE)

    np.testing.assert_allclose(refills.net_mm[0], [6.0, 8.4, 50.0])


def test_a_shortest_time_is_thought_of_in_time():
    # Arithmetic: all of 40 mm may be used, 5 a day; below 20 it would not last another four days.
    zones = RefillZones(storage_mm=[40.0], min_days_between=[4])

    refills = refill_when_due(steady(5.0, 40), zones, RefillRule(room=0.0, portion=1.0))

    assert np.flatnonzero(refills.net_mm).tolist() == [5, 10, 15, 20, 25, 30, 35]
    assert refills.deficit_mm.max() == 0.0


def test_a_longest_time_waters_a_zone_that_is_not_yet_due():
    zones = RefillZones(storage_mm=[60.0], max_days_between=[7])

    refills = refill_when_due(steady(1.5, 100), zones, RULE)

    assert set(np.diff(np.flatnonzero(refills.net_mm))) == {7}
    assert refills.net_mm.max() == pytest.approx(7 * 1.5)


def test_a_soaking_rain_is_followed_by_days_without_water():
    rain = np.zeros((20, 1))
    rain[5] = 40.0

    refills = refill_when_due(steady(5.0, 20, rain), RefillZones(storage_mm=[30.0]), RULE)

    assert refills.net_mm[6:9].sum() == 0.0
    assert refills.net_mm[9:].sum() > 0.0


def test_a_forecast_that_never_comes_true_costs_no_plant_a_day():
    # Rain is forecast each day, and none falls: first nothing, then the need of each day.
    weather = steady(5.0, 20, forecast_rain_mm=np.full((20, 1), 20.0))

    refills = refill_when_due(weather, RefillZones(storage_mm=[40.0]), RULE)

    assert refills.net_mm[:, 0].tolist() == [0.0] * 8 + [5.0] * 12
    assert np.flatnonzero(refills.is_postponed).tolist() == list(range(5, 20))
    assert refills.deficit_mm.max() == 0.0


def test_a_forecast_fills_no_store_and_a_drizzle_postpones_nothing():
    zones = RefillZones(storage_mm=[40.0])
    plain = refill_when_due(steady(5.0, 60), zones, RULE)

    drizzle = refill_when_due(steady(5.0, 60, forecast_rain_mm=np.full((60, 1), 4.9)), zones, RULE)

    np.testing.assert_array_equal(drizzle.net_mm, plain.net_mm)
    assert not drizzle.is_postponed.any()


def test_an_expected_need_is_believed_before_yesterdays():
    # A hot day that is seen coming is watered for; 20 mm are in hand on the morning of day 4.
    need = np.array([[5.0]] * 4 + [[12.0]] + [[5.0]] * 5)
    zones = RefillZones(storage_mm=[40.0], start_mm=[40.0])

    unseen = refill_when_due(RefillWeather(need, 0.0), zones, RULE)
    seen = refill_when_due(RefillWeather(need, 0.0, expected_need_mm=need), zones, RULE)

    assert unseen.net_mm[4, 0] == 0.0
    assert seen.net_mm[4, 0] == 10.0


def test_a_little_room_waits_unless_the_day_is_not_covered():
    rule = RefillRule(room=0.0, portion=0.1, least_net_mm=8.0)

    roomy = refill_when_due(steady(2.0, 30), RefillZones(storage_mm=[40.0]), rule)
    tiny = refill_when_due(steady(2.0, 30), RefillZones(storage_mm=[4.0]), rule)

    assert roomy.net_mm[roomy.net_mm > 0].min() >= 8.0
    assert tiny.deficit_mm.max() == 0.0


def test_gross_is_net_over_what_reaches_the_roots():
    zones = RefillZones(storage_mm=[40.0], net_fraction=[0.5], day_limit_mm=[15.0])

    refills = refill_when_due(steady(5.0, 60), zones, RULE)

    np.testing.assert_allclose(refills.gross_mm, 2 * refills.net_mm)
    assert refills.gross_mm.max() == 15.0


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"storage_mm": [-1.0]}, "storage_mm"),
        ({"storage_mm": [np.nan]}, "storage_mm"),
        ({"storage_mm": [10.0], "start_mm": [11.0]}, "start_mm"),
        ({"storage_mm": [10.0], "start_mm": [np.nan]}, "start_mm"),
        ({"storage_mm": [10.0], "net_fraction": 0.0}, "net_fraction"),
        ({"storage_mm": [10.0], "day_limit_mm": -1.0}, "day_limit_mm"),
        ({"storage_mm": [10.0], "min_days_between": 0}, "min_days_between"),
        ({"storage_mm": [10.0], "max_days_between": 0}, "max_days_between"),
        ({"storage_mm": [10.0], "waterings_a_day": 0}, "waterings_a_day"),
        ({"storage_mm": [10.0], "may_water": 2}, "may_water"),
        ({"storage_mm": [10.0, 10.0], "net_fraction": [1.0] * 3}, "net_fraction"),
    ],
)
def test_impossible_zones_are_refused(changes, field):
    with pytest.raises(InvalidInputError) as refusal:
        refill_when_due(steady(5.0), RefillZones(**changes), RULE)

    assert refusal.value.field == field


@pytest.mark.parametrize("field", ["need_mm", "effective_rain_mm", "forecast_rain_mm"])
def test_missing_weather_is_refused(field):
    given = {"need_mm": np.ones((3, 1)), "effective_rain_mm": 0.0, field: [[1.0], [np.nan], [1.0]]}

    with pytest.raises(InvalidInputError) as refusal:
        refill_when_due(RefillWeather(**given), RefillZones(storage_mm=[10.0]), RULE)

    assert refusal.value.field == field


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"room": -0.1}, "room"),
        ({"portion": 0.0}, "portion"),
        ({"most_room_mm": np.nan}, "most_room_mm"),
        ({"least_net_mm": 60.0}, "least_net_mm"),
        ({"room": 0.6, "portion": 0.5}, "portion"),
    ],
)
def test_an_impossible_rule_is_refused(changes, field):
    with pytest.raises(InvalidInputError) as refusal:
        RefillRule(**changes)

    assert refusal.value.field == field
