from __future__ import annotations

from dataclasses import replace

import pytest

from properties.domain.errors import InvalidInputError, RefusedError
from properties.domain.site import SoilTexture
from scheduling.domain.plants import EXPOSURE_FACTORS, Exposure
from scheduling.domain.run_times import WateringLimits, season, zone_plan
from tests.scheduling.domain.zones import FREE, SAND, codes, make_climate, make_zone, plan_of

INCH = 25.4


def test_a_plain_plan_by_hand():
    plan = plan_of(5.0, area_m2=100.0)

    assert (plan.need_mm_day, plan.raw_mm, plan.net_mm) == (5.0, 15.0, 15.0)
    assert (plan.days_between, plan.gaps_days, plan.weekdays) == (3, (3,), None)
    # 15 mm at 12.7 mm/h are 70.87 min; 71 would be more than the roots hold.
    assert plan.minutes_low == plan.minutes_high == pytest.approx(70.866, abs=0.001)
    assert (plan.minutes, plan.cycles, plan.cycle_min, plan.soak_min) == (70.0, 1, 70.0, 0.0)
    assert plan.gross_mm == pytest.approx(70 * 12.7 / 60)
    assert plan.weekly_gross_mm == pytest.approx(plan.gross_mm * 7 / 3)
    assert plan.litres_per_week == pytest.approx(plan.weekly_gross_mm * 100.0)
    assert plan.waterings_per_day == 1
    assert codes(plan) == [
        "store", "minutes-store", "shortfall-step", "measured-uniformity", "measured-rate", "need",
    ]  # fmt: skip
    assert plan.shortfall_mm_day == pytest.approx((15 - 70 * 12.7 / 60) / 3)


def test_half_an_inch_of_need_takes_thirty_minutes_at_an_inch_an_hour():
    # TRADE-01, common practice.
    plan = plan_of(0.5 * INCH, rate_mm_h=1.0 * INCH)

    assert plan.minutes_low == pytest.approx(30.0)


def test_the_need_is_the_product_of_its_factors_and_rain_is_not_taken_off():
    plan = plan_of(6.0, plant_factors=(0.6,) * 12, quality_factor=0.6, site_factor=0.5)

    # KC-06, arithmetic: 6.0 x 0.6 x 0.6 = 2.16; then half for full shade.
    assert plan.need_mm_day == pytest.approx(1.08)


def test_a_fully_shaded_zone_needs_half_of_one_in_full_sun():
    # TRADE-03, common practice.
    sun, shade = (
        plan_of(5.0, site_factor=EXPOSURE_FACTORS[exposure])
        for exposure in (Exposure.FULL_SUN, Exposure.FULL_SHADE)
    )

    assert shade.need_mm_day == sun.need_mm_day / 2
    assert shade.days_between == sun.days_between * 2


def test_uneven_water_lengthens_the_minutes_and_leaves_the_net_depth():
    plan = plan_of(5.0, du_lq=0.60)

    assert plan.net_mm == 15.0
    assert plan.minutes_low == pytest.approx(70.866, abs=0.001)
    assert plan.minutes_high == pytest.approx(70.866 / 0.76, abs=0.001)
    assert plan.minutes == 93.0
    assert plan.weekly_net_mm == pytest.approx(plan.weekly_gross_mm * 0.76)
    assert not plan.multiplier_assumed


def test_an_untested_zone_is_marked():
    plan = plan_of(5.0, estimated=True, du_lq=None, cups=None)

    assert plan.estimated
    assert plan.multiplier_assumed
    assert {"estimated-rate", "assumed-uniformity"} <= set(codes(plan))


def test_a_zone_too_uneven_is_to_be_repaired_first():
    plan = plan_of(5.0, du_lq=0.30)

    assert plan.repair_first
    assert plan.multiplier == 1.56


def test_a_zone_without_area_has_no_litres():
    assert plan_of(5.0).litres_per_week is None


def test_wednesday_and_saturday_are_watered_for_their_real_gaps():
    rules = WateringLimits(allowed_weekdays=frozenset({2, 5}))

    plan = plan_of(3.0, rules)

    assert (plan.days_between, plan.gaps_days, plan.weekdays) == (4, (3, 4), (2, 5))
    assert plan.net_mm == pytest.approx(10.5)  # 9 and 12 mm with one setting
    assert plan.shortfall_mm_day == 0.0


def test_one_setting_on_uneven_gaps_never_overdraws_the_roots():
    # Second route: the store, day by day, over ten weeks.
    rules = WateringLimits(allowed_weekdays=frozenset({2, 5}))
    plan = plan_of(3.0, rules)
    deficit_mm, deepest_mm, wasted_mm = 0.0, 0.0, 0.0

    for day in range(70):
        if day % 7 in plan.weekdays:
            wasted_mm += max(0.0, plan.net_mm - deficit_mm)
            deficit_mm = max(0.0, deficit_mm - plan.net_mm)
        deficit_mm += 3.0
        deepest_mm = max(deepest_mm, deficit_mm)

    assert deepest_mm <= plan.raw_mm
    assert wasted_mm <= plan.net_mm  # at the start only


def test_a_rule_that_leaves_too_long_a_gap_names_the_shortfall():
    plan = plan_of(5.0, WateringLimits(allowed_weekdays=frozenset({2, 5})))

    # Gaps ask 15 and 20 mm, the roots hold 15: 30 of 35 mm a week.
    assert plan.shortfall_mm_day == pytest.approx(5 / 7 + (15 - 70 * 12.7 / 60) * 2 / 7)
    assert "shortfall-weekdays" in codes(plan)


def test_a_rule_that_allows_no_day_leaves_the_whole_need():
    plan = plan_of(5.0, WateringLimits(allowed_weekdays=frozenset()))

    assert (plan.days_between, plan.minutes, plan.shortfall_mm_day) == (None, 0.0, 5.0)
    assert codes(plan)[0] == "no-day-allowed"


def test_a_dormant_month_is_not_watered_and_says_why():
    plan = plan_of(0.05, area_m2=100.0)

    assert (plan.days_between, plan.cycles, plan.minutes, plan.gross_mm) == (None, 0, 0.0, 0.0)
    assert (plan.litres_per_week, plan.shortfall_mm_day, plan.rain_skip) == (0.0, 0.0, None)
    assert codes(plan)[0] == "no-need"


@pytest.mark.parametrize(("tmin_c", "is_shut"), [(0.0, True), (-6.0, True), (0.1, False)])
def test_a_month_whose_usual_night_freezes_is_shut_down(tmin_c, is_shut):
    climate = replace(make_climate(4.0), tmin_c=(tmin_c,) * 12)

    plan = zone_plan(make_zone(), climate, FREE, 1)

    assert (plan.days_between is None, codes(plan)[0] == "winter") == (is_shut, is_shut)
    assert (plan.minutes == 0) == is_shut
    assert plan.need_mm_day == 4.0  # what the plants would take is told all the same


def test_a_full_store_after_rain_is_skipped_for_as_long_as_it_lasts():
    plan = plan_of(4.0)

    # 15 mm count of 17.54 mm, and last three whole days of 4 mm.
    assert plan.rain_skip.rain_mm == pytest.approx(15 + 0.1 * INCH)
    assert plan.rain_skip.days == 3


def test_a_store_larger_than_any_rain_is_skipped_for_what_the_rain_adds():
    plan = plan_of(4.0, root_depths_mm=(1000.0,) * 12)  # 75 mm

    assert plan.rain_skip.rain_mm == pytest.approx(2 * INCH)
    assert plan.rain_skip.days == 9  # 1.5667 in = 39.8 mm


def test_a_rate_the_surface_cannot_take_for_one_step_is_refused():
    steep_clay = {"soil_texture": SoilTexture.CLAY, "slope_percent": 20.0, "rate_mm_h": 50.0}

    with pytest.raises(RefusedError) as refusal:
        plan_of(5.0, WateringLimits(minute_step=5.0), **steep_clay)

    assert refusal.value.code == "cycle-under-step"


def test_a_need_far_below_one_step_is_set_to_one_step_and_said():
    plan = plan_of(0.2, WateringLimits(minute_step=5.0), max_days_between=1)

    assert plan.minutes_high < 1.0
    assert plan.minutes == 5.0
    assert "least-step" in codes(plan)


@pytest.mark.parametrize("month", [0, 13])
def test_a_month_that_no_year_has_is_refused(month):
    with pytest.raises(InvalidInputError) as refusal:
        zone_plan(make_zone(), make_climate(5.0), FREE, month)

    assert refusal.value.field == "month"


WARMING = (0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 5.0, 4.0, 3.0, 2.0, 1.0)


def test_as_it_warms_the_days_shrink_and_the_minutes_stay():
    # TRADE-04, common practice: temperature decides how often, the device how long.
    spring = season(make_zone(**SAND), make_climate(*WARMING), FREE).months[1:7]
    full_min = 15.0 * 60 / 12.7

    assert [plan.days_between for plan in spring] == [15, 7, 5, 3, 3, 2]
    for plan in spring:
        # Whole days leave less than one day of need in the roots.
        assert full_min * plan.days_between / (plan.days_between + 1) < plan.minutes_low
        assert plan.minutes_low <= full_min * (1 + 1e-9)


def test_a_season_is_the_sum_of_its_months():
    zone = make_zone(**SAND, area_m2=200.0, du_lq=0.65)

    year = season(zone, make_climate(*WARMING), FREE)

    days = (31, 28.2425, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
    assert [plan.month for plan in year.months] == list(range(1, 13))
    assert year.need_mm == pytest.approx(sum(a * b for a, b in zip(WARMING, days, strict=True)))
    assert year.litres == pytest.approx(
        sum(plan.litres_per_week * n / 7 for plan, n in zip(year.months, days, strict=True))
    )
    assert year.litres == pytest.approx(year.gross_mm * 200.0)
    assert year.net_mm == pytest.approx(year.gross_mm * (0.4 + 0.6 * 0.65))
    assert year.net_mm == pytest.approx(year.need_mm, rel=0.02)  # the controller's step
