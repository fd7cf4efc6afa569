"""The rate to expect of heads, drip grids and hoses."""

from __future__ import annotations

import datetime as dt

import pytest

from audits.models import BucketTest
from audits.selectors.head_rates import expected_rate_mm_h
from properties.domain.errors import RefusedError
from tests import cast
from tests.audits import field_rows

GRID = {"emitter_spacing_m": 0.3, "lateral_spacing_m": 0.5}


def drip(controller, **changes):
    return cast.make_zone(controller, head_kind="drip", **changes)


# Arithmetic: 2 L/h on 0.3 x 0.5 m are 13.333 mm/h. The need is told for the planted ground, so that
# the part that is wetted changes nothing (NRCS and FAO practice of drip design, from memory); once
# half of it wetted counted as twice the rate, and the plan gave half of the water.
@pytest.mark.parametrize("part", [None, 0.5, 1.0])
def test_a_drip_grid_needs_no_area_and_waters_all_that_is_planted(controller, part):
    zone = drip(controller, area_m2=None)
    cast.make_heads(zone, count=100, rated_flow_l_min=2 / 60, wetted_part=part, **GRID)

    assert expected_rate_mm_h(zone) == pytest.approx(2 / 0.15)


# Second route: (100 x 2 + 100 x 4) L/h on (100 x 0.15 + 100 x 0.4) m2, whatever is wetted of them.
def test_grids_weigh_by_their_planted_ground(controller):
    zone = drip(controller, area_m2=None)
    cast.make_heads(zone, count=100, rated_flow_l_min=2 / 60, wetted_part=0.3, **GRID)
    cast.make_heads(
        zone, count=100, rated_flow_l_min=4 / 60, emitter_spacing_m=0.5, lateral_spacing_m=0.8,
        wetted_part=0.9,
    )  # fmt: skip

    assert expected_rate_mm_h(zone) == pytest.approx(600 / 55)


# Second route: all their flow over all their ground: (300 x 2 + 100 x 4) L/h over
# (300 x 0.15 + 100 x 0.4) m2 = 1000 / 85.
def test_two_grids_come_to_their_flow_over_their_ground(controller):
    zone = drip(controller, area_m2=5.0)
    cast.make_heads(zone, count=300, rated_flow_l_min=2 / 60, **GRID)
    cast.make_heads(
        zone, count=100, rated_flow_l_min=4 / 60, emitter_spacing_m=0.5, lateral_spacing_m=0.8
    )

    assert expected_rate_mm_h(zone) == pytest.approx(1000 / 85)


# Arithmetic: 100 x 2 L/h on 50 m2 are 4 mm/h.
def test_drip_without_spacing_is_its_flow_over_the_area(controller):
    zone = drip(controller, area_m2=50.0)
    cast.make_heads(zone, count=100, rated_flow_l_min=2 / 60, emitter_spacing_m=0.3)

    assert expected_rate_mm_h(zone) == pytest.approx(4.0)


def fill_bucket(visit, zone, seconds, days_ago=0):
    return BucketTest.objects.create(
        visit=visit, zone=zone, taken_at=cast.NOW - dt.timedelta(days=days_ago), volume_l=10.0,
        seconds=seconds, flow_l_min=600.0 / seconds, **cast.ROW,
    )  # fmt: skip


# Arithmetic: 10 L in 40 s are 15 L/min, on 60 m2 15 mm/h.
def test_a_hose_waters_at_the_newest_bucket_over_the_area(visit, controller):
    zone = cast.make_zone(controller, head_kind="hose_end", area_m2=60.0)
    fill_bucket(visit, zone, 40.0)
    fill_bucket(visit, zone, 20.0, days_ago=3)

    assert expected_rate_mm_h(zone) == pytest.approx(15.0)


# Arithmetic: the open hose fills 25 L/min; the sprinkler on it lets out 10, on 60 m2 10 mm/h; two
# of 15 let out no more than the hose gives.
@pytest.mark.parametrize(("count", "each", "rate"), [(1, 10.0, 10.0), (2, 15.0, 25.0)])
def test_a_sprinkler_lets_out_less_than_the_open_hose(visit, controller, count, each, rate):
    zone = cast.make_zone(controller, head_kind="hose_end", area_m2=60.0)
    fill_bucket(visit, zone, 24.0)
    cast.make_heads(zone, kind="hose_end", count=count, rated_flow_l_min=each)

    assert expected_rate_mm_h(zone) == pytest.approx(rate)


@pytest.mark.parametrize("head_kind", ["spray", "drip"])
def test_a_bucket_tells_nothing_of_a_piped_zone(visit, controller, head_kind):
    zone = cast.make_zone(controller, head_kind=head_kind, area_m2=60.0)
    fill_bucket(visit, zone, 40.0)

    assert expected_rate_mm_h(zone) is None


def test_a_hose_without_bucket_or_area_is_unknown(visit, controller):
    dry = cast.make_zone(controller, head_kind="hose_end")
    unmeasured = cast.make_zone(controller, number=2, head_kind="hose_end", area_m2=None)
    fill_bucket(visit, unmeasured, 40.0)

    assert (expected_rate_mm_h(dry), expected_rate_mm_h(unmeasured)) == (None, None)


def test_an_absurd_grid_is_refused_and_not_believed(controller):
    zone = drip(controller)
    cast.make_heads(zone, rated_flow_l_min=50.0, **GRID)

    with pytest.raises(RefusedError, match="flow of an emitter") as refusal:
        expected_rate_mm_h(zone)

    assert (refusal.value.code, refusal.value.field) == ("no-rate", "zone")


# Arithmetic: the newest check says 1.75 L/h instead of 2; on 0.3 x 0.5 m 11.667 mm/h.
def test_emitters_drip_as_the_newest_check_caught_them(visit, controller):
    zone = drip(controller, area_m2=None)
    cast.make_heads(zone, count=100, rated_flow_l_min=2 / 60, **GRID)
    old = cast.NOW - dt.timedelta(days=3)
    field_rows.make_emitter_check(visit, zone, mean_flow_l_min=1 / 60, taken_at=old)
    field_rows.make_emitter_check(visit, zone)

    assert expected_rate_mm_h(zone) == pytest.approx(1.75 / 0.15)


# Arithmetic: 16 of 20 drip 2 L/h each, a mean of 1.6 over all; the plants of the 16 get 2 L/h.
def test_dry_emitters_do_not_slow_those_that_drip(visit, controller):
    zone = drip(controller, area_m2=None)
    cast.make_heads(zone, count=100, rated_flow_l_min=2 / 60, **GRID)
    field_rows.make_emitter_check(visit, zone, dry_emitters=4, mean_flow_l_min=1.6 / 60)

    assert expected_rate_mm_h(zone) == pytest.approx(2 / 0.15)


# Second route: 400 emitters of 1.75 L/h in the mean over 85 m2 of ground.
def test_several_grids_share_the_caught_flow_by_their_catalogue(visit, controller):
    zone = drip(controller)
    cast.make_heads(zone, count=300, rated_flow_l_min=2 / 60, **GRID)
    cast.make_heads(
        zone, count=100, rated_flow_l_min=4 / 60, emitter_spacing_m=0.5, lateral_spacing_m=0.8
    )
    field_rows.make_emitter_check(visit, zone)

    assert expected_rate_mm_h(zone) == pytest.approx(400 * 1.75 / 85)


# Arithmetic: 100 x 1.75 L/h and 2 sprays of 300 L/h on 50 m2.
def test_only_emitters_are_scaled_by_a_check_and_an_area_does_for_a_grid(visit, controller):
    zone = drip(controller, area_m2=50.0)
    cast.make_heads(zone, count=100, rated_flow_l_min=2 / 60)
    field_rows.make_emitter_check(visit, zone)
    assert expected_rate_mm_h(zone) == pytest.approx(3.5)

    cast.make_heads(zone, kind="spray", count=2, rated_flow_l_min=5.0)
    assert expected_rate_mm_h(zone) == pytest.approx((175 + 600) / 50)


def hose(zone, position, **changes):
    values = {"count": 1, "rated_flow_l_min": 20.0, "rated_pressure_kpa": 280.0, "tap": "kitchen"}
    return cast.make_heads(zone, **{**values, "position": position, **changes})


# Arithmetic: 20 L/min at 280 kPa on 80 m2 are 15 mm/h, on 160 m2 7.5; weighed by ground
# (15 x 80 + 7.5 x 160) / 240 = 10.
def test_hoses_water_as_their_taps_feed_their_positions(visit, controller):
    zone = cast.make_zone(controller, head_kind="hose_end", area_m2=60.0)
    fill_bucket(visit, zone, 30.0)  # 20 L/min on 60 m2 are 20 mm/h
    hose(zone, "front", wetted_area_m2=80.0)
    far = hose(zone, "far", wetted_area_m2=160.0)
    assert expected_rate_mm_h(zone) == pytest.approx(20.0)  # by the bucket: no tap is known

    field_rows.make_flow_check(
        visit, zone, tap="kitchen", static_kpa=400.0, running_kpa=280.0, flow_l_min=20.0
    )
    assert expected_rate_mm_h(zone) == pytest.approx(10.0)

    far.tap = "cellar"
    far.save()
    assert expected_rate_mm_h(zone) == pytest.approx(20.0)  # by the bucket: one is unknown
