"""Plans and seasons over the API: the domain's numbers, in the units of the request."""

from __future__ import annotations

import pytest

from scheduling.domain.run_times import season
from scheduling.models import WeatherDay
from scheduling.selectors.weather import climate_of
from scheduling.selectors.zone_facts import limits_of, zone_facts
from tests import cast
from tests.audits import field_rows
from tests.problems import pointers, row_counts

UNITS = {"us": ("in", "in/h", "gal", 25.4, 3.785411784), "metric": ("mm", "mm/h", "L", 1.0, 1.0)}
DEPTHS = {
    "et0_per_day": "et0_mm_day", "need_per_day": "need_mm_day", "readily_available": "raw_mm",
    "net_per_watering": "net_mm", "gross_per_watering": "gross_mm", "weekly_net": "weekly_net_mm",
    "weekly_gross": "weekly_gross_mm", "shortfall_per_day": "shortfall_mm_day",
    "uneven_loss_per_watering": "uneven_loss_mm", "weekly_uneven_loss": "weekly_uneven_loss_mm",
    "weekly_beyond_cap": "beyond_cap_mm_week",
}  # fmt: skip
PLAIN = (
    "month", "days_between", "waterings_per_day", "minutes_low", "minutes_high", "minutes",
    "cycles", "cycle_min", "soak_min", "multiplier", "multiplier_assumed", "estimated",
    "repair_first", "uncapped_multiplier", "mended_on", "plant_factor", "quality_factor",
    "site_factor",
)  # fmt: skip


@pytest.fixture
def expected(zone, tested, station):
    facts = zone_facts(zone, tested, latitude_deg=station.latitude)
    return season(facts, climate_of(station), limits_of(zone.controller))


def near(value, unit):
    return {"value": pytest.approx(value, rel=1e-5, abs=1e-12), "unit": unit}


def check_month(month, plan, system):
    depth, _, volume, mm, litres = UNITS[system]
    for name, field in DEPTHS.items():
        assert month[name] == near(getattr(plan, field) / mm, depth), name
    for name in PLAIN:
        assert month[name] == getattr(plan, name), name
    assert month["weekly_volume"] == near(plan.litres_per_week / litres, volume)
    assert month["gaps_days"] == list(plan.gaps_days)
    assert month["life"] == plan.stage
    assert month["net_of_gaps"] == {
        "unit": depth, "values": [pytest.approx(net / mm, rel=1e-5) for net in plan.gap_nets_mm]
    }  # fmt: skip
    assert [limit["code"] for limit in month["limits"]] == [each.code for each in plan.limits]
    assert sum(limit["decides"] for limit in month["limits"]) == (1 if plan.limits else 0)
    assert [reason["code"] for reason in month["reasons"]] == [r.code for r in plan.reasons]
    assert all(reason["sentence"] for reason in month["reasons"])
    if plan.rain_skip is None:
        assert month["rain_skip"] is None
    else:
        rain = near(plan.rain_skip.rain_mm / mm, depth)
        assert month["rain_skip"] == {"rain": rain, "days": plan.rain_skip.days}


@pytest.mark.parametrize("system", UNITS)
@pytest.mark.parametrize("month", [1, 7, 12])
def test_the_plan_of_a_month_is_the_domains(technician_api, zone, expected, system, month):
    address = f"/api/v1/zones/{zone.pk}/plan?month={month}&units={system}"

    answer = technician_api.get(address)

    assert answer.status_code == 200
    check_month(answer.json(), expected.months[month - 1], system)


def test_july_waters_and_january_does_not_as_much(technician_api, zone, expected):
    july, january = (
        technician_api.get(f"/api/v1/zones/{zone.pk}/plan?month={month}").json() for month in (7, 1)
    )

    assert july["minutes"] > 0
    assert july["need_per_day"]["value"] > 3 * january["need_per_day"]["value"]


@pytest.mark.parametrize("month", ["", "0", "13", "July", None])
def test_a_month_that_does_not_exist_is_refused(technician_api, zone, tested, month):
    query = "" if month is None else f"?month={month}"

    answer = technician_api.get(f"/api/v1/zones/{zone.pk}/plan{query}")

    assert (answer.status_code, pointers(answer)) == (400, ["/month"])


@pytest.mark.parametrize("path", ["zones/{zone}/plan?month=7&", "zones/{zone}/season?",
                                  "properties/{garden}/season?"])  # fmt: skip
def test_unknown_units_are_refused(technician_api, zone, garden, tested, path):
    address = path.format(zone=zone.pk, garden=garden.pk)

    answer = technician_api.get(f"/api/v1/{address}units=imperial")

    assert (answer.status_code, pointers(answer)) == (400, ["/units"])


@pytest.mark.parametrize("system", UNITS)
def test_the_season_of_a_zone_is_the_domains(technician_api, zone, tested, expected, system):
    depth, rate, volume, mm, litres = UNITS[system]

    content = technician_api.get(f"/api/v1/zones/{zone.pk}/season?units={system}").json()

    assert (content["zone"], content["number"], content["name"]) == (
        str(zone.pk), 1, "Front lawn",
    )  # fmt: skip
    assert content["test"] == str(tested.pk)
    assert content["rate"] == near(40.0 / mm, rate)
    assert content["refusal"] is None
    for month, plan in zip(content["season"]["months"], expected.months, strict=True):
        check_month(month, plan, system)
    for name in ("need", "net", "gross", "shortfall"):
        assert content["season"][name] == near(getattr(expected, f"{name}_mm") / mm, depth)
    assert content["season"]["volume"] == near(expected.litres / litres, volume)


@pytest.mark.parametrize("system", UNITS)
def test_the_season_of_a_property_refuses_one_zone_in_its_place(
    technician_api, controller, expected, station, system
):
    garden = controller.property
    _, rate, volume, mm, _ = UNITS[system]
    blank = cast.make_zone(controller, number=2, name="Side strip")
    heads = cast.make_zone(controller, number=3, name="Bank")
    cast.make_heads(heads)
    cast.make_zone(controller, number=4, is_active=False)

    content = technician_api.get(f"/api/v1/properties/{garden.pk}/season?units={system}").json()

    planned, refused, estimated = content["zones"]
    assert planned["season"]["months"][6]["minutes"] == expected.months[6].minutes
    assert (refused["zone"], refused["season"], refused["rate"]) == (str(blank.pk), None, None)
    assert refused["refusal"]["code"] == "no-rate"
    assert "catch test" in refused["refusal"]["remedy"]
    assert (estimated["test"], estimated["refusal"]) == (None, None)
    assert estimated["rate"] == near(70 * 60 / 200 / mm, rate)
    assert estimated["season"]["months"][6]["estimated"] is True
    total = planned["season"]["volume"]["value"] + estimated["season"]["volume"]["value"]
    assert content["volume"] == near(total, volume)
    assert content["usual_year"] == {
        "station": str(station.pk), "station_name": station.name, "first_date": "2015-01-01",
        "last_date": "2020-12-31", "years_used": 6, "few_years": False,
        "newest_year": {
            "first_date": "2020-01-02", "last_date": "2020-12-31", "days_filled": 0,
            "days_missing": 0,
        },
    }  # fmt: skip
    assert (content["cost"], content["currency"]) == (None, "USD")


@pytest.mark.parametrize("system", UNITS)
def test_the_found_program_stands_beside_the_season(
    technician_api, garden, controller, zone, tested, system
):
    depth, _, _, mm, _ = UNITS[system]
    setting = controller.settings.create(source="found", since=cast.TODAY, **cast.ROW)
    program = setting.programs.create(name="A", weekdays=[0, 3], starts=["05:00", "06:00"])
    program.runs.create(zone=zone, run_min=15)

    content = technician_api.get(f"/api/v1/properties/{garden.pk}/season?units={system}").json()

    # Arithmetic: 2 days x 2 starts x 15 min = 60 min at 40 mm/h are 40 mm.
    (found,) = content["zones"]
    assert (found["found_weekly_min"], found["found_weekly"]) == (60, near(40 / mm, depth))


def test_a_zone_without_rate_is_refused_alone_and_without_weather_all_are(
    technician_api, garden, zone, visit, station
):
    alone = technician_api.get(f"/api/v1/zones/{zone.pk}/season")
    assert (alone.status_code, pointers(alone)) == (409, ["/zone"])
    assert alone.json()["code"] == "no-rate"

    WeatherDay.objects.all().delete()
    for path in (f"zones/{zone.pk}/plan?month=7", f"properties/{garden.pk}/season"):
        answer = technician_api.get(f"/api/v1/{path}")
        assert (answer.status_code, pointers(answer)) == (409, ["/latitude"])
        assert answer.json()["code"] == "no-station"
        assert answer.json()["remedy"]


@pytest.mark.parametrize(
    "path", ["zones/{zone}/plan?month=7", "zones/{zone}/season", "properties/{garden}/season"]
)
def test_who_may_see_plans(callers, garden, zone, tested, path):
    address = "/api/v1/" + path.format(zone=zone.pk, garden=garden.pk)

    answers = [api.get(address).status_code for api in callers]

    assert answers == [200, 200, 404, 401]


def test_reading_a_plan_writes_nothing(technician_api, garden, zone, tested):
    before = row_counts()

    technician_api.get(f"/api/v1/properties/{garden.pk}/season")

    assert row_counts() == before


def test_the_season_of_ten_zones_takes_as_many_queries_as_that_of_one(
    technician_api, garden, controller, visit, tested, django_assert_num_queries
):
    def add(number):
        another = cast.make_zone(controller, number=number)
        cast.make_heads(another)
        cast.make_catch_test(visit, another)
        setting = controller.settings.create(source="found", since=cast.TODAY, **cast.ROW)
        program = setting.programs.create(name="A", weekdays=[0], starts=["05:00"])
        program.runs.create(zone=another, run_min=5)

    address = f"/api/v1/properties/{garden.pk}/season"
    add(2)
    # token, company of the scope, property, station, its days, zones, heads, buckets, emitters,
    # tests, cups, mended tickets, what was mended on the spot, settings, programs, runs, the newest
    # year of days, company of the units and of the currency
    queries = 19
    with django_assert_num_queries(queries):
        technician_api.get(address)
    for number in range(3, 11):
        add(number)

    with django_assert_num_queries(queries):
        assert len(technician_api.get(address).json()["zones"]) == 10


def test_a_new_planting_has_its_age_in_the_coming_months(technician_api, garden, zone, tested):
    address = f"/api/v1/zones/{zone.pk}/season"
    grown = technician_api.get(address).json()["season"]["months"]
    zone.planting_date = cast.TODAY
    zone.save()

    alone = technician_api.get(address).json()["season"]["months"]
    together = technician_api.get(f"/api/v1/properties/{garden.pk}/season").json()["zones"][0]

    # Common practice: roots of 50 of 150 mm when planted, full after 60 days; July's middle is 35
    # days away, when they reach 108.
    assert alone[6]["readily_available"]["value"] == pytest.approx(
        grown[6]["readily_available"]["value"] * (50 + 100 * 35 / 60) / 150, rel=1e-4
    )
    assert alone[4] == grown[4]  # the next May
    assert (alone[6]["life"], grown[6]["life"]) == ("establishing", "established")
    assert together["season"]["months"] == alone


def test_every_number_that_is_set_has_its_reason(technician_api, zone, tested):
    content = technician_api.get(f"/api/v1/zones/{zone.pk}/plan?month=7&units=metric").json()

    about = {reason["about"] for reason in content["reasons"]}
    assert {"need", "rate", "multiplier", "days_between", "minutes"} <= about
    assert ("cycles" in about) == (content["cycles"] > 1)
    factors = content["plant_factor"] * content["quality_factor"] * content["site_factor"]
    assert content["need_per_day"]["value"] == pytest.approx(
        content["et0_per_day"]["value"] * factors, rel=1e-4
    )


@pytest.mark.parametrize("kind", ["hose_end", "drip"])
def test_hose_and_drip_by_hand_have_days_and_minutes_and_are_marked_estimated(
    technician_api, visit, zone, station, kind
):
    zone.head_kind, zone.controller, zone.area_m2 = kind, None, 20.0
    zone.save()
    if kind == "drip":
        cast.make_heads(zone, kind=kind, rated_flow_l_min=0.035, count=100)
    else:
        field_rows.make_bucket_test(visit, zone)

    content = technician_api.get(f"/api/v1/zones/{zone.pk}/season").json()

    july = content["season"]["months"][6]
    assert (content["by_hand"], content["estimated"], july["estimated"]) == (True, True, True)
    assert july["minutes"] > 0
    assert july["days_between"] >= 1
