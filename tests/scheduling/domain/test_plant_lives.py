"""New plantings, rest and overseeding, in the months of a season and on single days."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import numpy as np
import pytest

from properties.domain.errors import InvalidInputError
from properties.domain.site import PlantType
from scheduling.domain.lived_days import lived_days
from scheduling.domain.plant_lives import LifeStage, middle_of, stage_on, zone_on
from scheduling.domain.plants import TURF_FACTORS
from scheduling.domain.run_times import season, zone_plan
from scheduling.domain.year_spans import PlantLife, YearSpan
from tests.scheduling.domain.zones import FREE, SAND, codes, make_climate, make_zone

ON = dt.date(2026, 6, 10)
WINTER = YearSpan("11-15", "03-01")


def living(**life):
    return make_zone(**SAND, life=PlantLife(**life))


@pytest.mark.parametrize(
    ("day", "is_in"),
    [("11-14", False), ("11-15", True), ("12-31", True), ("03-01", True), ("03-02", False)],
)
def test_a_span_passes_the_new_year_with_both_ends(day, is_in):
    assert WINTER.holds_on(dt.date.fromisoformat(f"2026-{day}")) is is_in


@pytest.mark.parametrize("text", ["", "13-01", "02-30", "1-5", "2026-01-05"])
def test_what_is_no_day_of_the_year_is_refused(text):
    with pytest.raises(InvalidInputError) as refusal:
        YearSpan(text, "03-01")

    assert refusal.value.field == "first"


def test_the_coming_months_are_of_this_year_and_of_the_next():
    assert middle_of(6, ON) == dt.date(2026, 6, 15)
    assert middle_of(5, ON) == dt.date(2027, 5, 15)


def test_a_new_planting_tapers_into_the_usual_plan_by_itself():
    # Common practice: turf of 200 mm starts at 50 mm and is established after 60 days.
    zone = living(planting_date=dt.date(2026, 6, 1))

    year = season(zone, make_climate(5.0), FREE, on=ON)

    june, july, august = (year.months[month - 1] for month in (6, 7, 8))
    # 14 days: 50 + 150 x 14/60 = 85 mm, which hold 15 x 85/200 = 6.375 mm; 44 days hold 12.
    assert (june.raw_mm, july.raw_mm) == (pytest.approx(6.375), pytest.approx(12.0))
    assert (june.days_between, july.days_between, august.days_between) == (1, 2, 3)
    assert june.minutes < july.minutes < august.minutes
    assert (june.stage, august.stage) == (LifeStage.ESTABLISHING, LifeStage.ESTABLISHED)
    assert "new-planting" in codes(june)
    assert "new-planting" not in codes(august)
    assert year.months[4].raw_mm == 15.0  # May is that of the next year


def test_without_a_day_to_plan_from_a_planting_counts_as_established():
    zone = living(planting_date=dt.date(2026, 6, 1))

    assert zone_plan(zone, make_climate(5.0), FREE, 6).raw_mm == 15.0


def test_turf_at_rest_gets_a_survival_watering_every_four_weeks():
    # Common practice: half an inch every three to four weeks.
    zone = living(dormant=YearSpan("07-01", "08-31"))

    plan = zone_plan(zone, make_climate(5.0), FREE, 7)

    assert (plan.days_between, plan.net_mm) == (28, pytest.approx(12.0))
    assert plan.stage is LifeStage.DORMANT
    assert "dormant" in codes(plan)
    assert zone_plan(zone, make_climate(5.0), FREE, 9).days_between == 3


def test_a_rest_in_a_frozen_month_gets_nothing():
    zone = living(dormant=WINTER)
    frozen = replace(make_climate(1.0), tmin_c=(-3.0,) * 12)

    plan = zone_plan(zone, frozen, FREE, 1)

    assert (codes(plan)[0], plan.minutes) == ("winter", 0.0)


def test_overseeded_turf_has_the_factors_and_roots_of_cool_season_grass():
    zone = living(overseeded=WINTER, dormant=WINTER)

    winter = zone_on(zone, dt.date(2026, 12, 15))

    assert winter.plant_factors == TURF_FACTORS[PlantType.COOL_TURF]
    assert winter.root_depths_mm == (150.0,) * 12
    assert stage_on(zone, dt.date(2026, 12, 15)) is LifeStage.OVERSEEDED  # it does not rest
    plan = zone_plan(zone, make_climate(2.0), FREE, 12)
    assert plan.need_mm_day == pytest.approx(2.0 * 0.60)  # December of the table
    assert plan.raw_mm == pytest.approx(150 / 1000 * 150 * 0.5)
    assert "overseeded" in codes(plan)


def test_the_days_of_a_new_planting_reach_deeper_one_by_one():
    dates = np.datetime64("2026-06-01") + np.arange(3)
    zone = living(planting_date=dt.date(2026, 6, 1))

    lived = lived_days(zone, dates, np.full(3, 5.0))

    # 2.5 mm of roots a day, of 0.075 mm each millimetre.
    assert lived.raw_mm == pytest.approx([3.75, 3.9375, 4.125])
    assert lived.reserve_mm == pytest.approx(lived.raw_mm)  # half is allowed
    assert lived.need_mm == pytest.approx([5.0] * 3)
