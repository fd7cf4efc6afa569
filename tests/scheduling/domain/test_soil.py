from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from properties.domain.errors import InvalidInputError
from properties.domain.site import HeadKind, SoilTexture
from scheduling.domain.cycles import cycle_ceiling, cycles_for
from scheduling.domain.plants import ALLOWED_DEPLETIONS
from scheduling.domain.soil import (
    accumulation_mm,
    available_from_contents_mm_m,
    horton_cycle_min,
    intake_mm_h,
    max_cycle_min,
    readily_available_mm,
    soak_min,
    soil_facts,
    watering_day_limit_mm,
)
from scheduling.domain.zone_facts import WateringLimits, readily_available_of
from tests.scheduling.domain.zones import make_zone

INCH = 25.4
TEXTURES = list(SoilTexture)


@pytest.mark.parametrize(
    ("texture", "low_in_ft", "high_in_ft"),
    # SOIL-01: University of California, Davis, drought management, Soil Characteristics.
    [
        ("sand", 0.75, 1.25),
        ("loamy_sand", 0.75, 1.25),
        ("sandy_loam", 1.25, 1.75),
        ("loam", 1.50, 2.30),
        ("clay_loam", 1.75, 2.50),
        ("silty_clay", 1.60, 2.50),
        ("clay", 1.60, 2.50),
    ],
)
def test_available_water_is_the_middle_of_the_published_range(texture, low_in_ft, high_in_ft):
    facts = soil_facts(texture)

    # 1 in/ft is one twelfth of the depth: 1000/12 mm per m.
    assert facts.available_range_mm_m == pytest.approx(
        (low_in_ft / 12 * 1000, high_in_ft / 12 * 1000)
    )
    assert facts.available_mm_m == pytest.approx((low_in_ft + high_in_ft) / 24 * 1000)


@pytest.mark.parametrize(
    ("texture", "intake_in_h", "accumulation_in"),
    # SOIL-06 and SOIL-07: trade-association test protocol for weather-based controllers (8th draft)
    # and 2005 scheduling guide; names of textures and all columns but the flat one from memory.
    [
        ("sand", 0.60, (0.40, 0.35, 0.30, 0.25)),
        ("loamy_sand", 0.50, (0.36, 0.30, 0.26, 0.22)),
        ("sandy_loam", 0.40, (0.33, 0.29, 0.24, 0.20)),
        ("loam", 0.35, (0.30, 0.25, 0.21, 0.17)),
        ("clay_loam", 0.20, (0.26, 0.22, 0.18, 0.15)),
        ("silty_clay", 0.15, (0.23, 0.19, 0.16, 0.13)),
        ("clay", 0.10, (0.20, 0.15, 0.10, 0.10)),
    ],
)
def test_intake_and_accumulation_are_the_published_tables(texture, intake_in_h, accumulation_in):
    by_slope = [accumulation_mm(texture, slope) / INCH for slope in (2, 5, 10, 20)]

    assert intake_mm_h(texture) / INCH == pytest.approx(intake_in_h)
    assert by_slope == pytest.approx(accumulation_in)
    assert soil_facts(texture).intake_mm_h == intake_mm_h(texture)
    assert soil_facts(texture).accumulation_mm[2] == accumulation_mm(texture, 10)


@pytest.mark.parametrize(
    ("slope", "accumulation_in"), [(0, 0.30), (3, 0.30), (3.5, 0.25), (6, 0.25), (12.1, 0.17)]
)
def test_a_slope_between_two_classes_takes_the_steeper(slope, accumulation_in):
    assert accumulation_mm(SoilTexture.LOAM, slope) / INCH == pytest.approx(accumulation_in)


@pytest.mark.parametrize("ask", [soil_facts, intake_mm_h, lambda name: accumulation_mm(name, 2)])
def test_an_unknown_texture_is_refused_with_the_list(ask):
    with pytest.raises(InvalidInputError) as refusal:
        ask("peat")

    assert refusal.value.code == "unknown-texture"
    assert all(texture.value in refusal.value.remedy for texture in SoilTexture)


@pytest.mark.parametrize("slope", [-1, 101, math.nan])
def test_an_impossible_slope_is_refused(slope):
    with pytest.raises(InvalidInputError) as refusal:
        accumulation_mm("loam", slope)

    assert refusal.value.field == "slope_percent"


@pytest.mark.parametrize(
    ("texture", "slope", "rate_in_h", "cycle", "soak"),
    # t = 60 ASA/(PR - IR) and soak = 60 ASA/IR (SOIL-08, same protocol); arithmetic.
    [
        ("loam", 6, 1.60, 12.0, 42.9),  # SOIL-09
        ("loamy_sand", 8, 1.40, 17.33, 31.2),  # SOIL-11
        ("sandy_loam", 12, 1.40, 14.4, 36.0),  # SOIL-12
        ("clay", 2, 0.20, 120.0, 120.0),  # SOIL-14, drip
    ],
)
def test_cycle_and_soak_of_the_reference_zones(texture, slope, rate_in_h, cycle, soak):
    rate, intake = rate_in_h * INCH, intake_mm_h(texture)
    standing = accumulation_mm(texture, slope)

    longest = max_cycle_min(rate, intake, standing)

    assert longest == pytest.approx(cycle, abs=0.1)
    assert soak_min(intake, standing) == pytest.approx(soak, abs=0.1)
    # SOIL-15, identity: what soaks in is what the cycle put down.
    assert soak_min(intake, standing) == pytest.approx(longest * rate / intake - longest)


def test_there_is_no_limit_while_the_soil_keeps_up():
    assert max_cycle_min(8.0, 8.0, 5.0) == math.inf
    assert max_cycle_min(7.0, 8.0, 0.0) == math.inf


def test_cycle_and_soak_take_arrays():
    cycles = max_cycle_min(np.array([[40.64], [5.0]]), np.array([8.89, 2.54]), 6.35)

    assert cycles.shape == (2, 2)
    np.testing.assert_allclose(cycles, [[12.0, 10.0], [math.inf, 60 * 6.35 / 2.46]])
    np.testing.assert_allclose(soak_min([8.89, 2.54], 6.35), [42.857, 150.0], rtol=1e-4)


@given(
    rate=st.floats(1, 100),
    intake=st.floats(0.5, 50),
    standing=st.floats(0, 20),
    part=st.floats(0, 1),
)
def test_a_cycle_leaves_no_more_than_may_stand(rate, intake, standing, part):
    minutes = min(max_cycle_min(rate, intake, standing), 1e4) * part

    left_mm = max(0.0, minutes * (rate - intake) / 60)

    assert left_mm <= standing * (1 + 1e-9)
    assert soak_min(intake, left_mm) * intake / 60 == pytest.approx(left_mm)


def _horton_ponding_min(rate, f0, fc, decay):
    """Second route: the soil's cumulated intake, by small steps, until the rate cannot be met."""
    tau = np.linspace(0, 20 / decay, 400_001)
    capacity = fc + (f0 - fc) * np.exp(-decay * tau)
    taken = np.concatenate(([0.0], np.cumsum((capacity[1:] + capacity[:-1]) / 2 * np.diff(tau))))
    return 60 * taken[np.argmax(capacity <= rate)] / rate


@pytest.mark.parametrize(
    ("rate", "f0", "fc", "decay"), [(25.0, 60.0, 8.0, 2.0), (12.0, 40.0, 10.0, 5.0), (30, 50, 0, 1)]
)
def test_horton_cycle_ends_when_the_cumulated_intake_is_used_up(rate, f0, fc, decay):
    # SOIL-22: Hung, "How long can you irrigate without runoff?"; Hung and Krinik 1995.
    expected = _horton_ponding_min(rate, f0, fc, decay)

    assert horton_cycle_min(rate, f0, fc, decay) == pytest.approx(expected, rel=1e-3)


def test_horton_cycle_at_and_beyond_its_ends():
    assert horton_cycle_min(60.0, 60.0, 8.0, 2.0) == 0.0
    assert horton_cycle_min(99.0, 60.0, 8.0, 2.0) == 0.0
    assert horton_cycle_min(8.0, 60.0, 8.0, 2.0) == math.inf
    assert horton_cycle_min(0.0, 60.0, 8.0, 2.0) == math.inf
    assert horton_cycle_min([5.0, 10.0], 10.0, 10.0, 2.0).tolist() == [math.inf, math.inf]


@given(st.floats(10, 40), st.floats(0.1, 20))
def test_horton_cycle_shortens_as_the_rate_grows(rate, more):
    assert horton_cycle_min(rate + more, 60.0, 8.0, 2.0) < horton_cycle_min(rate, 60.0, 8.0, 2.0)


def test_horton_refuses_an_intake_that_rises():
    with pytest.raises(InvalidInputError) as refusal:
        horton_cycle_min(20.0, 8.0, 60.0, 2.0)

    assert refusal.value.code == "intake-rises"


def test_readily_available_water_lasts_the_published_interval():
    # SOIL-24, arithmetic: .17 in/in x 6 in x .50 over .25 in/d x .6 is 3.4 days.
    store_mm = readily_available_mm(170.0, 6 * INCH, 0.50)

    assert store_mm / (0.25 * 0.6 * INCH) == pytest.approx(3.4, abs=0.05)


def test_readily_available_water_takes_arrays():
    np.testing.assert_allclose(readily_available_mm(150.0, [100.0, 200.0], 0.5), [7.5, 15.0])


def test_flat_heavy_clay_takes_six_tenths_of_an_inch_in_a_day():
    # TRADE-02, common practice.
    assert watering_day_limit_mm("clay", 0) / INCH == pytest.approx(0.6)


def test_the_limit_of_a_day_falls_with_slope_and_ends_with_loam():
    assert watering_day_limit_mm("clay", 5) / INCH == pytest.approx(0.45)  # ratio .15/.20 of ASA
    assert watering_day_limit_mm("clay", 20) / INCH == pytest.approx(0.30)
    assert watering_day_limit_mm("silty_clay", 0) / INCH == pytest.approx(0.69)
    assert watering_day_limit_mm("loam", 0) == math.inf


@given(st.sampled_from(TEXTURES), st.floats(0, 100), st.floats(0, 100))
def test_a_steeper_slope_never_holds_more(texture, one, other):
    gentle, steep = sorted((one, other))

    assert accumulation_mm(texture, steep) <= accumulation_mm(texture, gentle)
    assert watering_day_limit_mm(texture, steep) <= watering_day_limit_mm(texture, gentle)


def test_silt_loam_holds_about_two_inches_a_foot_and_half_of_it_is_usable():
    # SOIL-03: University of Nebraska-Lincoln, Soil Water. Silt loam stands in the class of loam.
    assert soil_facts("loam").available_mm_m * 12 / 1000 == pytest.approx(2.0, rel=0.2)
    assert np.mean(list(ALLOWED_DEPLETIONS.values())) == pytest.approx(0.5, rel=0.2)


def test_coarse_sand_is_left_to_the_probe_because_sources_disagree():
    # SOIL-03 says about 0.5 in/ft of coarse sand; the class that our sand is put into starts at
    # 0.75 (SOIL-01). The zone's own available water goes before the table.
    low_mm_m, _ = soil_facts("sand").available_range_mm_m
    table = make_zone(soil_texture=SoilTexture.SAND, available_mm_m=None)
    probed = make_zone(soil_texture=SoilTexture.SAND, available_mm_m=0.5 / 12 * 1000)

    assert low_mm_m * 12 / 1000 > 0.5 * 1.2
    # 1.0 in/ft, the middle of the class, against 0.5.
    assert readily_available_of(probed, 7) == pytest.approx(readily_available_of(table, 7) / 2)


@pytest.mark.parametrize(
    ("field_capacity", "wilting_point", "mm_m"),
    # SOIL-04: FAO-56, example 36 (from memory): loamy sand, silt, silty clay.
    [(0.15, 0.06, 90), (0.32, 0.15, 170), (0.35, 0.23, 120)],
)
def test_available_water_from_water_contents(field_capacity, wilting_point, mm_m):
    assert available_from_contents_mm_m(field_capacity, wilting_point) == pytest.approx(mm_m)


@pytest.mark.parametrize(
    ("contents", "field"),
    [((0.15, 0.15), "field_capacity"), ((15, 6), "field_capacity"), ((0.3, -0.1), "wilting_point")],
)
def test_water_contents_in_percent_or_crossed_are_refused(contents, field):
    with pytest.raises(InvalidInputError) as refusal:
        available_from_contents_mm_m(*contents)

    assert refusal.value.field == field


def test_a_long_watering_of_flat_clay_takes_three_cycles():
    # SOIL-25: 79.3 min at .4714 in/h on flat clay (.10 in/h, .20 in): 32.3 min at most at once.
    rate_mm_h = 0.4714 * INCH
    zone = make_zone(rate_mm_h=rate_mm_h, soil_texture=SoilTexture.CLAY, head_kind=HeadKind.ROTOR)

    longest = max_cycle_min(rate_mm_h, intake_mm_h("clay"), accumulation_mm("clay", 0))
    ceiling = cycle_ceiling(zone, WateringLimits(minute_step=0.1))
    cycles = cycles_for(79.3, 200.0, ceiling.value, zone=zone, step_min=0.1)

    assert longest == pytest.approx(32.3, abs=0.05)
    assert ceiling.code == "soil-cycle"
    assert cycles.cycles == 3
    assert cycles.minutes == pytest.approx(79.3, abs=0.15)
