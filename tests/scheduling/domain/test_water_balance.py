from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from properties.domain.errors import InvalidInputError
from scheduling.domain import water_balance
from scheduling.domain.water_balance import RootZone, Waterings, simulate

settings.register_profile("account", max_examples=60, deadline=None, derandomize=True)
modest = settings.get_profile("account")


@st.composite
def cases(draw, *, stress=True):
    """Some days of some zones: weather, roots that change with the months, waterings, runoff."""
    random = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    days, zones = draw(st.integers(1, 40)), draw(st.integers(1, 6))
    shape = (days, zones)
    storage = random.uniform(0.0, 40.0, (draw(st.sampled_from([1, days])), zones))
    reserve = random.uniform(0.0, 40.0, zones) * (stress and draw(st.booleans()))
    gross = random.gamma(1.0, 10.0, shape) * (random.random(shape) < 0.4)
    part = random.random((2, *shape)) / 2 * draw(st.booleans())
    need_columns = draw(st.sampled_from([1, zones]))
    return {
        "need_mm": random.uniform(0.0, 9.0, (days, need_columns)),
        "effective_rain_mm": random.gamma(0.5, 20.0, shape) * (random.random(shape) < 0.3),
        "waterings": Waterings(
            gross_mm=gross,
            net_fraction=random.uniform(0.3, 1.0, zones),
            runoff_mm=gross * part[0],
            soak_runoff_mm=gross * part[1],
        ),
        "root_zone": RootZone(
            storage_mm=storage,
            reserve_mm=reserve,
            start_mm=(storage[0] + reserve) * random.random(zones),
        ),
    }


def by_depletion(case):
    """Second route: FAO-56, eq. 84 and 85, by depletion from full, one zone and day at a time."""
    days, zones = np.broadcast_shapes(case["need_mm"].shape, case["effective_rain_mm"].shape)
    need = np.broadcast_to(case["need_mm"], (days, zones))
    total = case["root_zone"].storage_mm + case["root_zone"].reserve_mm
    total = np.broadcast_to(total, (days, zones))
    water = case["waterings"]
    net = (water.gross_mm - water.runoff_mm - water.soak_runoff_mm) * water.net_fraction
    out = np.zeros((4, days, zones))  # stored, deficit, rain overflow, irrigation overflow
    for zone in range(zones):
        depleted = total[0, zone] - case["root_zone"].start_mm[zone]
        for day in range(days):
            full, reserve = total[day, zone], float(case["root_zone"].reserve_mm[zone])
            held = total[max(day - 1, 0), zone] - depleted
            depleted = max(0.0, full - held)
            rained = depleted - case["effective_rain_mm"][day, zone]
            wet = max(0.0, rained) - net[day, zone]
            out[2, day, zone], out[3, day, zone] = max(0.0, -rained), max(0.0, -wet)
            depleted = max(0.0, wet)
            ks = min(1.0, (full - depleted) / reserve) if reserve else 1.0
            used = min(ks * need[day, zone], full - depleted)
            depleted += used
            out[0, day, zone], out[1, day, zone] = full - depleted, need[day, zone] - used
    return out


@modest
@given(cases())
def test_the_account_is_that_of_the_published_equation(case):
    account = simulate(**case)

    stored, deficit, of_rain, of_irrigation = by_depletion(case)
    np.testing.assert_allclose(account.stored_mm, stored, atol=1e-9)
    np.testing.assert_allclose(account.deficit_mm, deficit, atol=1e-9)
    np.testing.assert_allclose(account.rain_overflow_mm, of_rain, atol=1e-9)
    np.testing.assert_allclose(account.irrigation_overflow_mm, of_irrigation, atol=1e-9)


@modest
@given(cases())
def test_no_water_is_made_or_lost(case):
    account = simulate(**case)

    came = account.start_mm + (account.effective_rain_mm + account.gross_mm).sum(axis=0)
    went = sum(
        part.sum(axis=0)
        for part in (
            account.uneven_loss_mm, account.runoff_mm, account.soak_runoff_mm,
            account.surplus_mm, account.out_of_reach_mm, account.used_mm,
        )
    )  # fmt: skip
    np.testing.assert_allclose(came, went + account.stored_mm[-1], rtol=0, atol=1e-9)


@modest
@given(cases())
def test_no_column_is_ever_negative_and_no_store_above_its_capacity(case):
    account = simulate(**case)

    for field in dataclasses.fields(account):
        assert (getattr(account, field.name) >= 0.0).all(), field.name
    assert (account.used_mm >= -1e-12).all()
    assert (account.out_of_reach_mm >= 0.0).all()
    assert (account.stored_mm <= account.capacity_mm).all()


@modest
@given(cases(), st.floats(0.1, 30.0), st.integers(0, 39))
def test_more_rain_never_raises_the_deficit(case, more_mm, day):
    rain = case["effective_rain_mm"]
    wetter = rain.copy()
    wetter[day % len(rain)] += more_mm

    drier = simulate(**case).deficit_mm
    after = simulate(**{**case, "effective_rain_mm": wetter}).deficit_mm

    assert (after <= drier + 1e-9).all()


@modest
@given(cases(), st.floats(0.1, 5.0))
def test_an_account_in_another_unit_is_the_same_account(case, factor):
    water, roots = case["waterings"], case["root_zone"]
    scaled = simulate(
        case["need_mm"] * factor,
        case["effective_rain_mm"] * factor,
        Waterings(
            gross_mm=water.gross_mm * factor,
            net_fraction=water.net_fraction,
            runoff_mm=water.runoff_mm * factor,
            soak_runoff_mm=water.soak_runoff_mm * factor,
        ),
        RootZone(
            storage_mm=roots.storage_mm * factor,
            reserve_mm=roots.reserve_mm * factor,
            start_mm=roots.start_mm * factor,
        ),
    )

    account = simulate(**case)
    np.testing.assert_allclose(scaled.stored_mm, account.stored_mm * factor, atol=1e-8)
    np.testing.assert_allclose(scaled.deficit_mm, account.deficit_mm * factor, atol=1e-8)


def many_zones(zones):
    random = np.random.default_rng(7)
    gross = random.gamma(1.0, 8.0, (30, zones))
    return {
        "need_mm": random.uniform(1.0, 8.0, (30, zones)),
        "effective_rain_mm": random.gamma(0.4, 10.0, (30, 1)),
        "waterings": Waterings(gross_mm=gross, net_fraction=random.uniform(0.5, 1.0, zones)),
        "root_zone": RootZone(storage_mm=random.uniform(5.0, 50.0, zones)),
    }


def test_zones_do_not_touch_their_neighbours():
    case = many_zones(50)
    order = np.random.default_rng(3).permutation(50)
    turned = {
        **case,
        "need_mm": case["need_mm"][:, order],
        "waterings": Waterings(
            gross_mm=case["waterings"].gross_mm[:, order],
            net_fraction=case["waterings"].net_fraction[order],
        ),
        "root_zone": RootZone(storage_mm=case["root_zone"].storage_mm[order]),
    }

    np.testing.assert_array_equal(
        simulate(**turned).stored_mm, simulate(**case).stored_mm[:, order]
    )


def test_many_zones_in_turn_are_the_same_as_all_at_once(monkeypatch):
    case = many_zones(50)
    whole = simulate(**case)

    monkeypatch.setattr(water_balance, "ZONES_AT_ONCE", 7)

    in_turn = simulate(**case)
    for name in ("stored_mm", "deficit_mm", "rain_overflow_mm", "irrigation_overflow_mm"):
        np.testing.assert_array_equal(getattr(in_turn, name), getattr(whole, name))


def test_a_week_by_hand():
    # Arithmetic. Store of 20 mm, full; need 6 mm; 30 mm gross at 0.5 on day 4; rain of 10 mm too.
    account = simulate(
        np.full((5, 1), 6.0),
        np.array([[0], [0], [0], [10], [0]]),
        Waterings(gross_mm=np.array([[0], [0], [0], [30], [0]]), net_fraction=0.5),
        RootZone(storage_mm=[20.0]),
    )

    assert account.stored_mm[:, 0].tolist() == [14.0, 8.0, 2.0, 14.0, 8.0]
    assert account.irrigation_overflow_mm[3, 0] == 7.0  # 2 + 10 + 15 over 20: all the watering's
    assert account.rain_overflow_mm.sum() == 0.0
    assert account.uneven_loss_mm[3, 0] == account.net_mm[3, 0] == 15.0
    assert account.deficit_mm.sum() == 0.0


def test_what_rain_alone_overfills_is_the_rains():
    account = simulate(
        [[4.0]], [[50.0]], Waterings(gross_mm=[[10.0]]), RootZone(storage_mm=20.0, start_mm=[5.0])
    )

    assert account.rain_overflow_mm[0, 0] == 35.0
    assert account.irrigation_overflow_mm[0, 0] == 10.0
    assert account.surplus_mm[0, 0] == 45.0


def test_without_stress_all_is_used_and_then_nothing():
    account = simulate(
        np.full((3, 1), 6.0), 0.0, Waterings(gross_mm=0.0), RootZone(storage_mm=10.0)
    )

    assert account.deficit_mm[:, 0].tolist() == [0.0, 2.0, 6.0]


def test_under_stress_the_use_falls_with_what_is_left():
    # FAO-56, eq. 84, arithmetic: TAW 100 and RAW 40 mm; 70 mm depleted is Ks (100 - 70)/60 = 0.5.
    account = simulate(
        [[6.0]], 0.0, Waterings(gross_mm=0.0),
        RootZone(storage_mm=40.0, reserve_mm=60.0, start_mm=[30.0]),
    )  # fmt: skip

    assert account.used_mm[0, 0] == pytest.approx(3.0)
    assert account.stored_mm[0, 0] == pytest.approx(27.0)


def test_roots_that_become_shallower_leave_water_behind():
    account = simulate(
        [[1.0], [1.0], [1.0]], 0.0, Waterings(gross_mm=0.0),
        RootZone(storage_mm=[[30.0], [20.0], [25.0]]),
    )  # fmt: skip

    assert account.stored_mm[:, 0].tolist() == [29.0, 19.0, 18.0]
    assert account.out_of_reach_mm[:, 0].tolist() == [0.0, 9.0, 0.0]
    assert account.surplus_mm.sum() == 0.0


def test_runoff_is_taken_out_before_unevenness():
    account = simulate(
        [[0.0]], 0.0,
        Waterings(gross_mm=[[20.0]], net_fraction=0.5, runoff_mm=4.0, soak_runoff_mm=2.0),
        RootZone(storage_mm=50.0, start_mm=[0.0]),
    )  # fmt: skip

    assert account.stored_mm[0, 0] == 7.0  # (20 - 4 - 2) x 0.5
    assert (account.runoff_mm[0, 0], account.soak_runoff_mm[0, 0]) == (2.0, 1.0)
    assert (account.net_mm[0, 0], account.uneven_loss_mm[0, 0]) == (10.0, 10.0)


def test_inputs_are_spread_not_copied_and_never_written_to():
    need, storage = np.full((4, 1), 3.0), np.array([10.0, 20.0, 30.0])
    for array in (need, storage):
        array.flags.writeable = False

    account = simulate(need, 0.0, Waterings(gross_mm=0.0), RootZone(storage_mm=storage))

    assert account.need_mm.shape == (4, 3)
    assert np.shares_memory(account.need_mm, need)


def test_more_runoff_than_was_put_down_is_refused():
    water = Waterings(
        gross_mm=[[5.0], [0.0]], runoff_mm=[[3.0], [0.0]], soak_runoff_mm=[[3.0], [0.0]]
    )

    with pytest.raises(InvalidInputError) as refusal:
        simulate(4.0, 0.0, water, RootZone(storage_mm=20.0))

    assert (refusal.value.field, refusal.value.code) == ("runoff_mm", "runoff-over-gross")
