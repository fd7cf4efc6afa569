"""Roots that hold less than a day of need get several waterings a day."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given

from scheduling.domain.refill import RefillZones, refill_when_due
from scheduling.domain.water_balance import RootZone, Waterings, simulate
from tests.scheduling.domain.refill_cases import RULE, cases, modest, steady


def shallow(storage_mm=4.0, most=6, **more):
    return RefillZones(storage_mm=[storage_mm], waterings_a_day=[most], **more)


def test_roots_that_hold_less_than_a_day_are_watered_several_times_a_day():
    # Arithmetic: 10 mm a day out of 4 mm take three waterings of 3.33 mm; the first day begins full
    # and needs 6 mm more, which is two waterings less 0.67 mm.
    refills = refill_when_due(steady(10.0, 5), shallow(), RULE)

    np.testing.assert_allclose(refills.net_mm[:, 0], [6.0, 10.0, 10.0, 10.0, 10.0])
    assert refills.waterings[:, 0].tolist() == [2, 3, 3, 3, 3]
    np.testing.assert_allclose(refills.deficit_mm, 0.0, atol=1e-12)
    np.testing.assert_allclose(refills.stored_mm, 0.0, atol=1e-12)


@pytest.mark.parametrize(
    ("most", "shortest", "used_mm"),
    # Arithmetic: 4 mm at a time of 10 mm a day; a zone that waits two days gets one every other.
    [(1, 1, 4.0), (2, 1, 8.0), (3, 1, 10.0), (6, 1, 10.0), (6, 2, 2.0)],
)
def test_what_the_waterings_of_a_day_cannot_give_is_missing(most, shortest, used_mm):
    zones = shallow(most=most, min_days_between=[shortest], start_mm=[0.0])

    refills = refill_when_due(steady(10.0, 20), zones, RULE)

    assert refills.waterings.max() == (min(most, 3) if shortest == 1 else 1)
    assert 10.0 - refills.deficit_mm.mean() == pytest.approx(used_mm)


def test_a_store_of_just_a_day_is_watered_once():
    refills = refill_when_due(steady(0.1 + 0.2, 30), shallow(0.3), RULE)

    assert refills.waterings.max() == 1
    assert refills.deficit_mm.max() == pytest.approx(0.0)


def test_a_rain_is_used_before_the_first_of_several_waterings():
    # Arithmetic: 4 mm are there after the rain, each part uses 3.33 mm, and each watering of 3.33
    # mm tops the roots up to the brim: 0.67 mm are left in the evening, and serve the next day.
    rain = np.zeros((3, 1))
    rain[1] = 4.0

    refills = refill_when_due(steady(10.0, 3, rain), shallow(), RULE)

    assert refills.stored_mm[:, 0] == pytest.approx([0.0, 4.0 - 10 / 3, 0.0])
    assert refills.deficit_mm.sum() == pytest.approx(0.0)


@pytest.mark.parametrize("most", [1, 2, 4])
@modest
@given(case=cases())
def test_several_waterings_a_day_are_the_water_account_of_parts_of_days(case, most):
    """A second route: each part of a day as a row of its own, watered as long as the water lasts.

    A part gets what it is expected to need less what a dry morning would leave for it.
    """
    weather, zones = case
    zones = replace(zones, storage_mm=zones.storage_mm / 6, start_mm=zones.start_mm / 6,
                    waterings_a_day=most)  # fmt: skip

    refills = refill_when_due(weather, zones, RULE)

    for zone in range(weather.need_mm.shape[1]):
        stored, deficit, waterings = _by_parts(weather, zones, refills.net_mm[:, zone], zone)
        np.testing.assert_allclose(refills.stored_mm[:, zone], stored, atol=1e-9)
        np.testing.assert_allclose(refills.deficit_mm[:, zone], deficit, atol=1e-9)
        np.testing.assert_array_equal(refills.waterings[:, zone], waterings)


def _by_parts(weather, zones, net_mm, zone):
    need, rain = weather.need_mm[:, zone], weather.effective_rain_mm[:, zone]
    storage, store = zones.storage_mm[zone], zones.start_mm[zone]
    often = zones.waterings_a_day if zones.min_days_between[zone] == 1 else 1
    rows = []
    for day, net in enumerate(net_mm):
        expected = need[max(day - 1, 0)]
        parts = next(n for n in range(1, often + 1) if n == often or expected <= n * storage)
        share = expected if parts > 1 else np.inf
        share = min(share, parts * storage) / parts
        thought, depths = store, []
        for _ in range(parts):
            depths.append(min(max(share - thought, 0.0), net - sum(depths)) if parts > 1 else net)
            thought = max(thought + depths[-1] - share, 0.0)
        account = simulate(
            np.full((parts, 1), need[day] / parts),
            [[rain[day]]] + [[0.0]] * (parts - 1),
            Waterings(gross_mm=np.array(depths)[:, np.newaxis]),
            RootZone(storage_mm=[storage], start_mm=[store]),
        )
        store = account.stored_mm[-1, 0]
        rows.append((store, account.deficit_mm.sum(), sum(d > 1e-9 for d in depths)))
        came, went = rain[day] + net, account.used_mm.sum() + account.surplus_mm.sum()
        assert came - went == pytest.approx(store - account.start_mm[0], abs=1e-9)
    return zip(*rows, strict=True)
