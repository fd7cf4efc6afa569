"""A stored test seen again as the domain sees it."""

from __future__ import annotations

import pytest

from audits.domain.catch_test import catch_test
from audits.selectors.catch_tests import advice_of, result_of
from audits.services.catch_tests import Catch, record_catch_test
from tests import cast


def codes(test):
    return {advice.code for advice in advice_of(test)}


@pytest.fixture
def record(visit, zone, technician):
    def record(entered, **catch):
        values = {"visit": visit, "zone": zone, "entered": {name: {} for name in entered}}
        return record_catch_test(
            values, Catch(**{"run_min": 10.0, "cup_shape": "straight_walled", **catch}),
            actor=technician, now=cast.NOW,
        )  # fmt: skip

    return record


def test_a_stored_test_says_what_its_cups_said(record):
    depths = (6.0, 7.0, 8.0, 9.5)

    seen = result_of(record(["depths_mm"], depths_mm=depths))

    fresh = catch_test(depths, 10.0, "spray")
    for name in ("cups", "duration_min", "mean_depth_mm", "rate_mm_h", "rate_interval_mm_h",
                 "depths_mm", "du_lq", "du_lh", "cu"):  # fmt: skip
        assert getattr(seen, name) == pytest.approx(getattr(fresh, name)), name


def test_a_pooled_test_stays_pooled(record):
    seen = result_of(record(["pooled_depth_mm"], pooled_depth_mm=20.0, pooled_cups=4))

    assert seen.is_pooled
    assert (seen.cups, seen.mean_depth_mm, seen.du_lq) == (4, 5.0, None)


# Arithmetic: 3 mm on 80 cm2 is 24 mL (under 25, too little to read), on 90 cm2 27 mL.
@pytest.mark.parametrize(("area_cm2", "is_small"), [(80.0, True), (90.0, False)])
def test_a_volume_is_judged_by_its_millilitres(record, area_cm2, is_small):
    test = record(
        ["volumes_ml"], volumes_ml=[area_cm2 * 0.3] * 4, throat_areas_cm2=[area_cm2],
        cup_shape="tapered",
    )  # fmt: skip

    assert ("catch-too-small" in codes(test)) is is_small


# Arithmetic: four cups of 6 mL each are one reading of 24 mL, of 7 mL one of 28 mL.
@pytest.mark.parametrize(("cup_ml", "is_small"), [(6.0, True), (7.0, False)])
def test_a_pooled_volume_is_judged_as_the_one_reading_that_it_is(record, cup_ml, is_small):
    test = record(
        ["pooled_volume_ml"], pooled_volume_ml=cup_ml * 4, pooled_cups=4,
        throat_areas_cm2=[100.0], cup_shape="tapered",
    )  # fmt: skip

    assert ("catch-too-small" in codes(test)) is is_small


def test_a_ruler_is_judged_by_depth_even_where_the_throat_was_noted(record):
    deep = record(["depths_mm"], depths_mm=[6.0] * 4, throat_areas_cm2=[20.0])
    flat = record(["depths_mm"], depths_mm=[4.0] * 4, throat_areas_cm2=[100.0])

    assert "catch-too-small" not in codes(deep)
    assert "catch-too-small" in codes(flat)


def test_a_pooled_test_is_for_the_rate_and_needs_fewer_cups(record):
    pooled = record(["pooled_depth_mm"], pooled_depth_mm=80.0, pooled_cups=8)
    single = record(["depths_mm"], depths_mm=[10.0] * 8)

    assert "too-few-cups" not in codes(pooled)
    assert "too-few-cups" in codes(single)


def test_the_flag_and_the_wind_of_the_row_give_advice(visit, zone):
    plain = cast.make_catch_test(visit, zone)
    marked = cast.make_catch_test(visit, zone, cups_level=False, wind_m_s=3.0)

    assert codes(marked) - codes(plain) == {"uneven-cups", "wind-too-high"}
    assert codes(plain) - codes(marked) == {"wind-not-measured"}


@pytest.mark.parametrize(("head_kind", "is_short"), [("spray", False), ("rotor", True)])
def test_the_run_is_judged_by_the_heads_of_the_zone(visit, controller, head_kind, is_short):
    zone = cast.make_zone(controller, number=9, head_kind=head_kind)
    test = cast.make_catch_test(visit, zone, run_min=6.0)

    assert ("run-too-short" in codes(test)) is is_short
