"""The need that the usual year lends to the audits, and what repairs are worth by the season."""

from __future__ import annotations

import datetime as dt

import pytest

from audits.domain.published_uniformity import assumed_du_lq
from audits.models import Finding, FlowCheck
from properties.domain.errors import RefusedError
from properties.domain.site import HeadKind
from scheduling.selectors.needs import (
    PROGRAM_CAUSES,
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


def set_as_planned(zone, month):
    """Enter the product's own plan of a month as the program that was found in that month."""
    _, _, facts = zone_season(zone)
    plan = facts.plan.months[month - 1]
    since = dt.date(2026, month, 1)
    row = {**cast.ROW, "created_at": dt.datetime(2026, month, 20, tzinfo=dt.UTC)}
    setting = zone.controller.settings.create(source="found", since=since, **row)
    days = {"weekdays": plan.weekdays} if plan.weekdays else {"interval_days": plan.days_between}
    starts = [f"{5 + at:02d}:00" for at in range(plan.cycles * plan.waterings_per_day)]
    program = setting.programs.create(name="A", starts=starts, **days)
    program.runs.create(zone=zone, run_min=plan.cycle_min)
    return plan


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
    assert need.multiplier == facts.plan.months[0].multiplier
    assert need.source == "Tallgrass Field Station, usual year of 2015 to 2020 (6 years)"


def test_a_zone_without_rate_has_a_need_all_the_same_and_unknown_water(zone, station):
    water = found_water_with_need(zone)

    assert water.against_need.needed_mm_year > 0
    assert water.against_need.found_mm_year is None
    assert water.against_need.multiplier is None
    assert water.against_need.gross_needed_mm_year is None
    assert {month.verdict for month in water.against_need.months} == {"unknown"}


def test_without_weather_the_need_is_refused(zone):
    with pytest.raises(RefusedError) as refusal:
        monthly_need_of(zone)

    assert (refusal.value.code, refusal.value.field) == ("no-station", "latitude")


# Whoever waters as we plan waters right: the margin for unevenness is no waste. Steps of a minute
# and whole days between are what an eighth is allowed for.
@pytest.mark.parametrize(
    ("du_lq", "month"),
    [(0.45, 5), (0.45, 7), (0.45, 9), (0.6, 7), (0.75, 7), (0.9, 7), (1.0, 5), (1.0, 7)],
)
def test_the_own_plan_entered_as_found_is_about_right(visit, zone, station, du_lq, month):
    cast.make_catch_test(visit, zone, du_lq=du_lq)
    plan = set_as_planned(zone, month)

    water = found_water_with_need(zone)
    found = diagnosis_with_need(zone)

    against = water.against_need.months[month - 1]
    assert water.weekly_mm == pytest.approx(plan.weekly_gross_mm, rel=0.02)
    assert against.verdict == "about_right"
    assert 0.9 < against.ratio < 1.1
    assert against.gross_needed_mm == pytest.approx(against.needed_mm / (0.4 + 0.6 * du_lq))
    assert not {cause.kind for cause in found.diagnosis.causes} & PROGRAM_CAUSES


def test_turf_that_rests_is_not_said_to_get_too_little(visit, controller, station):
    zone = cast.make_zone(
        controller, plant_type="warm_turf", dormant_from="07-01", dormant_until="08-31"
    )
    cast.make_catch_test(visit, zone)
    set_as_planned(zone, 7)

    need = monthly_need_of(zone).weekly_mm

    assert need[6] < need[5] / 2
    assert found_water_with_need(zone).against_need.months[6].verdict == "about_right"


# The controller cannot be set as finely as the soil wants: there is no plan, but need and margin.
def test_a_zone_that_cannot_be_planned_is_judged_all_the_same(visit, zone, station):
    cast.make_catch_test(visit, zone)
    set_program(zone, 30)
    planned = found_water_with_need(zone).against_need
    zone.controller.minute_step = 30
    zone.controller.save()
    with pytest.raises(RefusedError):
        zone_season(zone)

    assert found_water_with_need(zone).against_need == planned


def test_a_zone_without_a_test_is_judged_by_the_margin_of_its_heads(zone, station):
    cast.make_heads(zone)
    set_as_planned(zone, 7)

    against = found_water_with_need(zone).against_need

    # Sprays in the field have 0.55 as a published mean (see `published_uniformity`).
    assert against.multiplier == pytest.approx(1 / (0.4 + 0.6 * assumed_du_lq(HeadKind.SPRAY)))
    assert against.months[6].verdict == "about_right"


def test_the_bare_need_put_down_on_an_uneven_zone_is_too_little(visit, zone, station):
    cast.make_catch_test(visit, zone, du_lq=0.5)
    bare_mm = monthly_need_of(zone).weekly_mm[6]
    set_program(zone, bare_mm / 3 / 40 * 60)

    against = found_water_with_need(zone).against_need.months[6]

    # Arithmetic: 0.4 + 0.6 x 0.5, less what a whole minute cuts off.
    assert against.ratio == pytest.approx(0.7, abs=0.04)
    assert against.verdict == "too_little"


# Arithmetic: 3 x 30 min at 40 mm/h are 60 mm a week: far too much in January, and in July about
# as the need of that month says. A uniformity of 0.75 makes the gross need its 1 / 0.85.
def test_each_month_is_judged_against_its_own_need(zone, tested):
    set_program(zone, 30)

    against = found_water_with_need(zone).against_need

    need = monthly_need_of(zone).weekly_mm
    assert [month.found_mm for month in against.months] == [60.0] * 12
    assert [month.needed_mm for month in against.months] == pytest.approx(list(need))
    for month in against.months:
        ratio = 60.0 / (month.needed_mm / 0.85)
        assert month.ratio == pytest.approx(ratio)
        band = "too_much" if ratio >= 1.125 else "too_little" if ratio < 0.875 else "about_right"
        assert month.verdict == band
    assert against.months[0].verdict == "too_much"
    assert against.verdict == "too_much"


# Arithmetic: the meter counts 210 L/min while the zone runs; 140 of them reach the nozzles, so a
# third is saved; at 2 per m3 that is its thousandth, doubled. What falls on the lawn, 40 mm/h on
# 200 m2, is 133 L/min and not what the client pays.
def test_a_leak_is_worth_its_share_of_the_season(leaking):
    found = diagnosis_with_need(leaking)

    _, _, facts = zone_season(leaking)
    (worth,) = [worth for cause, worth in found.worths if cause.kind == "leak"]
    minutes = facts.plan.gross_mm / 40 * 60
    saved = minutes * 210 / 3
    assert saved > facts.plan.litres / 3 * 1.5
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


def test_the_meter_tells_what_a_leak_is_worth_of_a_zone_of_unknown_area(leaking):
    leaking.area_m2 = None
    leaking.save()

    found = diagnosis_with_need(leaking)

    _, _, facts = zone_season(leaking)
    (worth,) = [worth for cause, worth in found.worths if cause.kind == "leak"]
    assert facts.plan.litres is None
    assert worth.litres_saved_per_year == pytest.approx(facts.plan.gross_mm / 40 * 60 * 210 / 3)


# Arithmetic: the meter counts 210 L/min, of which 133.3 are caught: 0.635, where a sound zone
# catches 0.90.
def test_overspray_is_worth_its_share_of_what_the_meter_counts(visit, leaking):
    for number in range(3):
        Finding.objects.create(
            visit=visit, zone=leaking, fault=("sprays_paving", "wrong_arc", "runoff")[number],
            severity="major", count=3, seen_at=cast.NOW, **cast.ROW,
        )  # fmt: skip

    found = diagnosis_with_need(leaking)

    _, _, facts = zone_season(leaking)
    metered = facts.plan.gross_mm / 40 * 60 * 210
    (worth,) = [worth for cause, worth in found.worths if cause.kind == "overspray"]
    share = 40 * 200 / 60 / 210
    assert worth.litres_saved_per_year == pytest.approx(metered * (1 - share / 0.9))


# Arithmetic: what runs in a year on 200 m2, less the part of it that June, the month in which the
# program is known to have run, does need at a uniformity of 0.75.
def test_too_long_a_program_is_worth_what_it_runs_beyond_the_need(zone, tested):
    set_program(zone, 60)

    found = diagnosis_with_need(zone)

    assert found.diagnosis.causes[0].kind == "overwatering"
    worth = found.worths[0][1]
    beyond_mm = (120.0 - monthly_need_of(zone).weekly_mm[5] / 0.85) * 365 / 7
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
