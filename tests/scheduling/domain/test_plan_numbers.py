"""What stands beside the minutes of a plan: net and gross, limits, the cap, the month's needs."""

from __future__ import annotations

import pytest

from properties.domain.site import HeadKind, SoilTexture
from scheduling.domain.intervals import Ceiling, Rhythm
from scheduling.domain.run_times import season
from scheduling.domain.zone_facts import UniformitySource, WateringLimits
from tests.scheduling.domain.zones import FREE, SAND, codes, make_climate, make_zone, plan_of


def test_beyond_the_cap_the_plan_tells_what_water_instead_of_repair_would_cost():
    plan = plan_of(5.0, du_lq=0.30, area_m2=100.0)

    # Arithmetic: 1 / (0.4 + 0.6 x 0.3) = 1 / 0.58 instead of 1.56.
    assert (plan.multiplier, plan.uncapped_multiplier) == (1.56, pytest.approx(1 / 0.58))
    more = plan.weekly_gross_mm * (1 / 0.58 / 1.56 - 1)
    assert plan.beyond_cap_mm_week == pytest.approx(more)
    assert plan.beyond_cap_litres_week == pytest.approx(more * 100.0)
    assert "repair-first" in codes(plan)
    assert plan_of(5.0, du_lq=0.5).beyond_cap_mm_week == 0.0
    assert plan_of(5.0, du_lq=0.40).beyond_cap_mm_week == 0.0  # still within the cap


def test_gross_less_net_is_told_apart():
    plan = plan_of(5.0, du_lq=0.6)

    assert plan.uneven_loss_mm == pytest.approx(plan.gross_mm * 0.24)
    assert plan.weekly_uneven_loss_mm == pytest.approx(plan.weekly_gross_mm * 0.24)


def test_every_limit_of_the_day_is_named_and_one_decides():
    rules = WateringLimits(daily_depth_cap_mm=12.0, daily_minutes_cap=50.0)

    plan = plan_of(5.0, rules, soil_texture=SoilTexture.CLAY)

    limits = {limit.code: limit for limit in plan.limits}
    assert set(limits) == {"store", "soil-day", "rule-depth", "rule-minutes", "starts"}
    assert [code for code, limit in limits.items() if limit.decides] == ["rule-minutes"]
    assert limits["rule-minutes"].net_mm == pytest.approx(50 * 12.7 / 60)
    assert {limit.code for limit in plan_of(5.0).limits} == {"store", "starts"}


def test_each_gap_has_its_own_net_depth():
    plan = plan_of(3.0, WateringLimits(allowed_weekdays=frozenset({2, 5})))

    assert (plan.gaps_days, plan.gap_nets_mm) == ((3, 4), (9.0, 12.0))


def test_two_long_gaps_in_a_row_get_more_than_the_mean():
    # Second route: the roots day by day. 3, 3 and 1 days of 2 mm on roots of 6.5 mm.
    rhythm = Rhythm((3, 3, 1), (0, 3, 6), "weekdays")
    net_mm = rhythm.net_mm(2.0, Ceiling(6.5, "store"), 6.5)
    lacks = []
    lack = 0.0
    for _ in range(20):
        for gap in rhythm.gaps_days:
            lack = max(0.0, lack - net_mm) + gap * 2.0
            lacks.append(lack)

    assert net_mm == pytest.approx(5.5)  # 6 days of 2 mm less the roots; the mean is 14/3
    assert max(lacks) <= 6.5 + 1e-9


@pytest.mark.parametrize(
    ("facts", "source", "code"),
    [
        ({}, UniformitySource.CUPS, "measured-rate"),
        ({"pooled": True}, UniformitySource.POOLED_CUPS, "measured-rate"),
        (
            {"estimated": True, "by_emitters": True, "head_kind": HeadKind.DRIP},
            UniformitySource.EMITTERS,
            "emitter-rate",
        ),
        ({"estimated": True, "du_lq": None}, UniformitySource.PUBLISHED, "estimated-rate"),
        (
            {"estimated": True, "du_lq": None, "head_kind": HeadKind.HOSE_END},
            UniformitySource.PUBLISHED,
            "estimated-hose-rate",
        ),
    ],
)
def test_the_plan_says_what_told_its_rate_and_its_uniformity(facts, source, code):
    plan = plan_of(5.0, **facts)

    assert make_zone(**facts).uniformity_source is source
    rates = [reason for reason in plan.reasons if reason.about == "rate"]
    assert [reason.code for reason in rates] == [code]
    assert all(reason.about for reason in plan.reasons)


def test_the_needs_of_a_month_are_what_programs_are_fitted_to():
    zone = make_zone(**{**SAND, "du_lq": 0.6, "soil_texture": SoilTexture.CLAY})

    need = season(zone, make_climate(2.0), FREE).month_needs()[6]

    assert (need.month, need.rate_mm_h, need.longest_gap_days) == (7, 12.7, 7)
    assert need.gross_mm_week == pytest.approx(14 / 0.76)
    assert need.store_mm == pytest.approx(15 / 0.76)
    assert need.day_limit_mm == pytest.approx(0.6 * 25.4)  # TRADE-02, common practice
    # .2 in on .5 in/h less .1 in/h: 30 min on clay; 12.7 - 2.54 mm/h stand 5.08 mm, two hours.
    assert (need.longest_cycle_min, need.soak_min) == (
        pytest.approx(30, abs=1),
        pytest.approx(120, abs=5),
    )
    dormant = season(zone, make_climate(0.05), FREE).month_needs()[0]
    assert dormant.gross_mm_week == 0.0
