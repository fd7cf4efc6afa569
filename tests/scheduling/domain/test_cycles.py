from __future__ import annotations

import pytest

from properties.domain.errors import RefusedError
from properties.domain.site import SoilTexture
from scheduling.domain.cycles import (
    cycle_ceiling,
    cycles_for,
    depth_for,
    minutes_for,
    split_minutes,
)
from scheduling.domain.zone_facts import WateringLimits
from tests.scheduling.domain.zones import FREE, make_zone

INCH = 25.4


def test_half_an_inch_at_an_inch_an_hour_is_thirty_minutes():
    # TRADE-01, common practice: the cups' rate of 1.0 in/h needs 30 min for 0.5 in.
    assert minutes_for(0.5 * INCH, 1.0 * INCH) == pytest.approx(30.0)
    assert depth_for(30.0, 1.0 * INCH) == pytest.approx(0.5 * INCH)


def test_a_long_watering_on_flat_clay_becomes_three_cycles():
    # SOIL-25, arithmetic on the protocol's table: 79.3 min at .4714 in/h, at most 32.3 at once.
    clay = make_zone(soil_texture=SoilTexture.CLAY, rate_mm_h=0.4714 * INCH)

    cycles = cycles_for(79.3, 200.0, cycle_ceiling(clay, FREE).value, zone=clay, step_min=1.0)

    assert cycle_ceiling(clay, WateringLimits(minute_step=0.1)).value == pytest.approx(32.3)
    assert cycle_ceiling(clay, FREE).code == "soil-cycle"
    assert (cycles.cycles, cycles.cycle_min, cycles.minutes) == (3, 26.0, 78.0)
    # 26 min leave 26 x (.4714 - .10)/60 = .1609 in; at .10 in/h that takes 96.6 min, rounded up.
    assert cycles.soak_min == 97.0


def test_the_controllers_longest_run_divides_too_and_needs_no_soak():
    sand = make_zone(soil_texture=SoilTexture.SAND, rate_mm_h=10.0)
    rules = WateringLimits(longest_run_min=60)
    ceiling = cycle_ceiling(sand, rules)

    cycles = cycles_for(90.0, 200.0, ceiling.value, zone=sand, step_min=1.0)

    assert (ceiling.value, ceiling.code) == (60.0, "longest-run")
    assert (cycles.cycles, cycles.cycle_min, cycles.soak_min) == (2, 45.0, 0.0)


def test_one_cycle_is_followed_by_no_soak():
    clay = make_zone(soil_texture=SoilTexture.CLAY)

    assert cycles_for(10.0, 20.0, 30.0, zone=clay, step_min=1.0).soak_min == 0.0


def test_a_cycle_under_one_step_is_refused_with_its_cure():
    # Steep clay under 2 in/h takes .10 in in 3.2 min.
    steep = make_zone(soil_texture=SoilTexture.CLAY, slope_percent=20, rate_mm_h=2 * INCH)

    with pytest.raises(RefusedError) as refusal:
        cycle_ceiling(steep, WateringLimits(minute_step=5))

    assert refusal.value.code == "cycle-under-step"
    assert "lower rate" in refusal.value.remedy


@pytest.mark.parametrize(
    ("minutes", "most", "longest", "step", "expected"),
    [
        (28.4, 99.0, 60, 1, (1, 28, False)),  # nearest
        (28.6, 99.0, 60, 1, (1, 29, False)),
        (28.6, 28.9, 60, 1, (1, 28, True)),  # the nearest would break the limit
        (28.6, 28.6, 10, 1, (3, 9, True)),
        (28.6, 40.0, 60, 5, (1, 30, False)),
        (0.2, 40.0, 60, 1, (1, 1, False)),  # never nothing
        (1.5, 1.6, 1, 1, (1, 1, True)),  # two cycles of a step would be too much
        (60.0, 99.0, 20, 1, (3, 20, False)),
    ],
)
def test_minutes_go_to_the_nearest_step_within_the_limit(minutes, most, longest, step, expected):
    assert split_minutes(minutes, most, longest, step) == expected


def test_a_step_that_is_too_much_at_once_is_refused():
    with pytest.raises(RefusedError) as refusal:
        split_minutes(3.0, 4.0, 60, 5)

    assert refusal.value.code == "step-over-limit"
