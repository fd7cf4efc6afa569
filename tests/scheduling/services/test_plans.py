"""Storing plans: a new revision only when what can be set changes."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from uuid import uuid4

import pytest

from audits.models import CatchTest
from properties.models import Event, Property, Zone
from scheduling.domain.run_times import season
from scheduling.models import WateringPlan
from scheduling.selectors.seasons import property_season
from scheduling.selectors.weather import climate_of
from scheduling.selectors.zone_facts import limits_of, zone_facts
from scheduling.services.plans import (
    settings_digest,
    store_plans,
    store_plans_after_visit,
    store_plans_of_property,
)
from scheduling.signals import plans_made
from tests import cast
from tests.properties.rule_rows import make_district, make_rule

LATER = cast.NOW + dt.timedelta(days=1)


@pytest.fixture
def tested(visit, zone):
    return cast.make_catch_test(visit, zone)


def season_of(zone, test, station):
    zone = Zone.objects.get(pk=zone.pk)
    facts = zone_facts(zone, test, latitude_deg=station.latitude)
    return season(facts, climate_of(station), limits_of(zone.controller))


def test_the_stored_plan_is_that_of_the_domain(garden, zone, tested, station, office):
    result = store_plans(garden, actor=office, now=cast.NOW)

    assert result == {"zones": 1, "new_plans": 1, "problems": {}}
    plan = WateringPlan.objects.get()
    expected = season_of(zone, tested, station)
    assert (plan.zone, plan.number, plan.station, plan.test) == (zone, 1, station, tested)
    assert plan.is_estimated is False
    assert plan.settings_digest == settings_digest(expected)
    assert len(plan.months) == 12
    for stored, month in zip(plan.months, expected.months, strict=True):
        assert stored["minutes"] == month.minutes
        assert stored["days_between"] == month.days_between
        assert stored["weekly_gross_mm"] == pytest.approx(month.weekly_gross_mm)
    assert plan.inputs["zone"]["rate_mm_h"] == 40.0
    assert plan.inputs["zone"]["soil_texture"] == "loam"
    assert plan.inputs["climate"]["last_date"] == "2020-12-31"
    assert plan.inputs["weather"] == {
        "station": "ZZTEST00001", "first_date": "2020-01-02", "last_date": "2020-12-31",
        "days_filled": 0, "days_missing": 0,
    }  # fmt: skip
    assert Event.objects.get(subject_id=plan.pk).actor == office


def test_planning_twice_stores_once(garden, zone, tested, station):
    store_plans(garden, actor=None, now=cast.NOW)

    again = store_plans(garden, actor=None, now=LATER)

    assert again == {"zones": 1, "new_plans": 0, "problems": {}}
    assert WateringPlan.objects.count() == 1


def test_a_change_that_no_setting_shows_makes_no_revision(garden, zone, tested, station):
    store_plans(garden, actor=None, now=cast.NOW)
    Zone.objects.update(name="Lawn by the walk", area_m2=210.0)
    CatchTest.objects.update(rate_mm_h=40.0001)

    assert store_plans(garden, actor=None, now=LATER)["new_plans"] == 0


def test_a_change_that_a_setting_shows_makes_the_next_revision(garden, zone, tested, station):
    store_plans(garden, actor=None, now=cast.NOW)
    CatchTest.objects.update(rate_mm_h=20.0, rate_low_mm_h=17.0)

    store_plans(garden, actor=None, now=LATER)

    first, second = WateringPlan.objects.order_by("number")
    assert (first.number, second.number) == (1, 2)
    assert (first.created_at, second.created_at) == (cast.NOW, LATER)
    july = [plan.months[6]["minutes"] for plan in (first, second)]
    assert july[1] > 1.5 * july[0]


def test_going_back_is_a_new_revision_too(garden, zone, tested, station):
    for rate in (40.0, 35.0, 40.0):
        CatchTest.objects.update(rate_mm_h=rate)
        store_plans(garden, actor=None, now=cast.NOW)

    digests = WateringPlan.objects.order_by("number").values_list("settings_digest", flat=True)
    assert digests[0] == digests[2] != digests[1]


def test_numbers_count_for_each_zone(garden, controller, zone, tested, station, visit):
    second = cast.make_zone(controller, number=2)
    cast.make_catch_test(visit, second)

    store_plans(garden, actor=None, now=cast.NOW)

    assert set(WateringPlan.objects.values_list("zone", "number")) == {
        (zone.pk, 1), (second.pk, 1),
    }  # fmt: skip


def test_a_zone_that_cannot_be_planned_is_told_and_the_others_are_stored(
    garden, controller, zone, tested, station
):
    blank = cast.make_zone(controller, number=2)

    result = store_plans(garden, actor=None, now=cast.NOW)

    assert (result["zones"], result["new_plans"]) == (2, 1)
    assert result["problems"][str(blank.pk)]["code"] == "no-rate"
    assert "catch test" in result["problems"][str(blank.pk)]["detail"]
    assert WateringPlan.objects.get().zone == zone


def test_an_estimated_plan_says_so_and_a_test_replaces_it(garden, zone, visit, station):
    cast.make_heads(zone)
    store_plans(garden, actor=None, now=cast.NOW)
    assert WateringPlan.objects.get().is_estimated

    test = cast.make_catch_test(visit, zone)
    store_plans(garden, actor=None, now=LATER)

    newest = WateringPlan.objects.order_by("-number").first()
    assert (newest.number, newest.is_estimated, newest.test) == (2, False, test)


def test_a_zone_at_rest_is_not_planned(garden, zone, tested, station):
    Zone.objects.update(is_active=False)

    assert store_plans(garden, actor=None, now=cast.NOW)["zones"] == 0


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("days_between", 9), ("weekdays", (1,)), ("waterings_per_day", 7), ("cycles", 9),
        ("cycle_min", 99.0), ("soak_min", 99.0),
    ],
)  # fmt: skip
def test_the_digest_hears_whatever_can_be_set_in_any_month(zone, tested, station, name, value):
    plan = season_of(zone, tested, station)
    changed = replace(plan, months=(*plan.months[:11], replace(plan.months[11], **{name: value})))

    assert settings_digest(changed) != settings_digest(plan)


@pytest.mark.parametrize("name", ["need_mm_day", "gross_mm", "litres_per_week", "minutes_low"])
def test_the_digest_does_not_hear_what_nobody_sets(zone, tested, station, name):
    plan = season_of(zone, tested, station)
    months = tuple(replace(month, **{name: 1.25}) for month in plan.months)

    assert settings_digest(replace(plan, months=months)) == settings_digest(plan)


@pytest.fixture
def heard():
    news = []

    def hear(sender, **words):
        news.append((words["visit_id"], words["now"]))

    plans_made.connect(hear)
    yield news
    plans_made.disconnect(hear)


def test_after_a_visit_the_apps_above_hear_of_the_plans(visit, zone, tested, station, heard):
    result = store_plans_after_visit(visit.pk, cast.NOW)

    assert result["new_plans"] == 1
    assert heard == [(visit.pk, cast.NOW)]


def test_without_weather_they_hear_all_the_same_and_the_result_says_why(visit, tested, heard):
    result = store_plans_after_visit(visit.pk, cast.NOW)

    assert result["problem"]["code"] == "no-station"
    assert heard == [(visit.pk, cast.NOW)]


def test_the_job_of_a_property_needs_one(garden, zone, tested, station, heard):
    assert store_plans_of_property(garden.pk, cast.NOW)["new_plans"] == 1
    assert heard == []
    with pytest.raises(Property.DoesNotExist):
        store_plans_of_property(uuid4(), cast.NOW)


def test_the_season_sums_litres_and_cost(garden, controller, zone, tested, station, visit):
    second = cast.make_zone(controller, number=2, area_m2=None)
    cast.make_catch_test(visit, second)
    assert property_season(garden).cost is None
    garden.water_price_per_m3 = "1.8500"
    garden.save()

    found = property_season(Property.objects.get())

    (litres,) = [each.plan.litres for each in found.zones if each.plan.litres is not None]
    assert found.litres == litres
    assert float(found.cost) == pytest.approx(litres / 1000 * 1.85, abs=0.005)


def test_what_runs_now_is_minutes_times_rate(garden, zone, tested, station, controller):
    assert property_season(garden).zones[0].found_weekly_mm is None
    setting = controller.settings.create(source="found", since=cast.TODAY, **cast.ROW)
    program = setting.programs.create(name="A", weekdays=[0, 3], starts=["05:00"])
    program.runs.create(zone=zone, run_min=15)

    (found,) = property_season(garden).zones

    # Arithmetic: 2 x 15 min at 40 mm/h are 20 mm.
    assert (found.found_weekly_min, found.found_weekly_mm) == (30, pytest.approx(20.0))


def test_a_stored_plan_knows_the_age_of_a_planting(garden, zone, tested, station):
    Zone.objects.filter(pk=zone.pk).update(planting_date=cast.TODAY)

    store_plans(garden, actor=None, now=cast.NOW)

    months = WateringPlan.objects.get().months
    assert months[5]["stage"] == "establishing"  # June, in which it was planted
    assert months[5]["raw_mm"] < months[8]["raw_mm"]
    assert WateringPlan.objects.get().inputs["zone"]["life"]["planting_date"] == "2026-06-10"


def test_rules_and_controller_are_kept_with_the_plan(garden, zone, tested, station):
    garden.watering_district = make_district()
    garden.save()
    make_rule(garden.watering_district, minutes_cap=60)

    store_plans(garden, actor=None, now=cast.NOW)

    limits = WateringPlan.objects.get().inputs["limits"]
    assert len(limits) == 12
    assert limits[6] == {
        "allowed_weekdays": [2, 5], "daily_minutes_cap": 60.0, "daily_depth_cap_mm": None,
        "minute_step": zone.controller.minute_step, "max_cycles": 4, "longest_run_min": 240,
        "longest_interval_days": 31, "max_multiplier": 1.56,
    }  # fmt: skip


def test_a_repair_that_makes_the_minutes_shorter_makes_a_revision(garden, zone, tested, station):
    CatchTest.objects.update(du_lq=0.4)
    store_plans(garden, actor=None, now=cast.NOW)
    cast.make_ticket(garden, zone=zone, fault="broken", state="mended", mended_at=LATER)

    store_plans(garden, actor=None, now=LATER)

    first, second = WateringPlan.objects.order_by("number")
    assert second.inputs["zone"]["mended_on"] == str(LATER.date())
    assert second.test == first.test
    assert second.months[6]["multiplier"] < first.months[6]["multiplier"]
