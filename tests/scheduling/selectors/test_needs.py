"""The need that the usual year lends to the audits, and what repairs are worth by the season."""

from __future__ import annotations

import pytest

from audits.models import Finding, FlowCheck
from properties.domain.errors import RefusedError
from scheduling.selectors.needs import (
    diagnosis_with_need,
    found_water_with_need,
    monthly_need_of,
)
from scheduling.selectors.seasons import zone_season
from tests import cast


@pytest.fixture
def tested(visit, zone, station):
    return cast.make_catch_test(visit, zone)


def set_program(zone, run_min):
    setting = zone.controller.settings.create(source="found", since=cast.TODAY, **cast.ROW)
    program = setting.programs.create(name="A", weekdays=[0, 2, 4], starts=["05:00"])
    program.runs.create(zone=zone, run_min=run_min)


@pytest.fixture
def leaking(visit, zone, tested):
    """Nozzles of 140 L/min together at the pressure found, 210 L/min through the meter."""
    zone.property.water_price_per_m3 = 2
    zone.property.save()
    cast.make_heads(zone, rated_flow_l_min=14.0, rated_pressure_kpa=200.0)
    FlowCheck.objects.create(
        visit=visit, zone=zone, taken_at=cast.NOW, meter_before_l=0, meter_after_l=420, run_min=2,
        flow_l_min=210.0, running_kpa=200.0, static_kpa=300.0, **cast.ROW,
    )  # fmt: skip
    return zone


@pytest.mark.parametrize(
    "changes",
    [
        {}, {"plant_factor": 0.7, "quality_factor": 0.8},
        {"exposure": "", "microclimate_factor": 1.2, "plant_type": "warm_turf"},
        {"exposure": "part_shade"},
    ],
)  # fmt: skip
def test_the_need_is_that_of_the_season_times_seven(visit, controller, station, changes):
    zone = cast.make_zone(controller, **changes)
    cast.make_catch_test(visit, zone)

    need = monthly_need_of(zone)

    _, _, facts = zone_season(zone)
    expected = [month.need_mm_day * 7 for month in facts.plan.months]
    assert need.weekly_mm == pytest.approx(expected)
    assert need.source == "Tallgrass Field Station, usual year of 2015 to 2020 (6 years)"


def test_a_zone_without_rate_has_a_need_all_the_same_and_unknown_water(zone, station):
    water = found_water_with_need(zone)

    assert water.against_need.needed_mm_year > 0
    assert water.against_need.found_mm_year is None
    assert {month.verdict for month in water.against_need.months} == {"unknown"}


def test_without_weather_the_need_is_refused(zone):
    with pytest.raises(RefusedError) as refusal:
        monthly_need_of(zone)

    assert (refusal.value.code, refusal.value.field) == ("no-station", "latitude")


# Arithmetic: 3 x 30 min at 40 mm/h are 60 mm a week: far too much in January, and in July about
# as the need of that month says.
def test_each_month_is_judged_against_its_own_need(zone, tested):
    set_program(zone, 30)

    against = found_water_with_need(zone).against_need

    need = monthly_need_of(zone).weekly_mm
    assert [month.found_mm for month in against.months] == [60.0] * 12
    assert [month.needed_mm for month in against.months] == pytest.approx(list(need))
    for month in against.months:
        ratio = 60.0 / month.needed_mm
        band = "too_much" if ratio >= 1.125 else "too_little" if ratio < 0.875 else "about_right"
        assert month.verdict == band
    assert against.months[0].verdict == "too_much"
    assert against.verdict == "too_much"


# Arithmetic: of 210 L/min metered 140 reach the nozzles, so a third of the season is saved; at 2
# per m3 that is its thousandth, doubled.
def test_a_leak_is_worth_its_share_of_the_season(leaking):
    found = diagnosis_with_need(leaking)

    _, _, facts = zone_season(leaking)
    (worth,) = [worth for cause, worth in found.worths if cause.kind == "leak"]
    saved = facts.plan.litres / 3
    assert worth.litres_saved_per_year == pytest.approx(saved)
    assert worth.money_saved_per_year == pytest.approx(saved / 1000 * 2)
    assert worth.minutes_saved_per_year == pytest.approx(0.0, abs=1e-6)
    assert found.refusal is None


# Second route: minutes of the planned year are its weekly gross depth over the rate; a repair
# that leaves the flow as it is saves minutes as it saves litres.
def test_the_minutes_of_the_season_go_with_its_litres(visit, zone, tested):
    cast.make_heads(zone)
    Finding.objects.create(
        visit=visit, zone=zone, fault="leaning", severity="major", count=3, seen_at=cast.NOW,
        **cast.ROW,
    )  # fmt: skip

    found = diagnosis_with_need(zone)

    _, _, facts = zone_season(zone)
    days = (31, 28.2425, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
    minutes = sum(
        month.weekly_gross_mm / 7 * length / 40 * 60
        for month, length in zip(facts.plan.months, days, strict=True)
    )
    (worth,) = [w for cause, w in found.worths if cause.kind == "leaning_or_turned_head"]
    share = worth.litres_saved_per_year / facts.plan.litres
    assert worth.minutes_saved_per_year == pytest.approx(share * minutes)
    assert worth.money_saved_per_year is None


# Arithmetic: what runs in a year on 200 m2, less the part of it that June, the month in which the
# program is known to have run, does need.
def test_too_long_a_program_is_worth_what_it_runs_beyond_the_need(zone, tested):
    set_program(zone, 60)

    found = diagnosis_with_need(zone)

    assert found.diagnosis.causes[0].kind == "overwatering"
    worth = found.worths[0][1]
    beyond_mm = (120.0 - monthly_need_of(zone).weekly_mm[5]) * 365 / 7
    assert worth.litres_saved_per_year == pytest.approx(beyond_mm * 200)
    assert worth.minutes_saved_per_year == pytest.approx(beyond_mm / 40 * 60)


def test_without_a_plan_the_causes_stand_and_the_refusal_says_why(visit, zone, station):
    Finding.objects.create(
        visit=visit, zone=zone, fault="leaning", severity="major", seen_at=cast.NOW, **cast.ROW
    )

    found = diagnosis_with_need(zone)

    assert found.refusal.code == "no-rate"
    ((cause, worth),) = found.worths
    assert (cause.kind, worth.litres_saved_per_year) == ("leaning_or_turned_head", None)
