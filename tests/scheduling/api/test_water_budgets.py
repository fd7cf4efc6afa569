"""The water budget of a property over the API: what is granted, what is used, what is missing."""

from __future__ import annotations

import datetime as dt

import pytest

from scheduling.models import WeatherDay
from scheduling.selectors.seasons import property_season
from tests import cast
from tests.problems import pointers
from tests.properties import rule_rows

FT2 = 0.09290304


@pytest.fixture
def address(garden) -> str:
    return f"/api/v1/properties/{garden.pk}/water-budget"


@pytest.fixture
def district(garden, station):
    district = rule_rows.make_district()
    garden.watering_district = district
    garden.save()
    return district


@pytest.fixture
def budget(district):
    return rule_rows.make_budget(district)


def zones_of(controller, *areas_m2, **changes):
    return [
        cast.make_zone(
            controller, number=number, name=f"Bed {number}", area_m2=area, plant_factor=0.6,
            **changes,
        )
        for number, area in enumerate(areas_m2, start=1)
    ]  # fmt: skip


def ask(api, address, **query):
    answer = api.get(address, {"units": "metric", **query})
    assert answer.status_code == 200, answer.json()
    return answer.json()


def test_who_may_see_a_water_budget(callers, visit, zone, budget, address):
    answers = [api.get(address).status_code for api in callers]

    assert answers == [200, 200, 404, 401]


def test_allowance_and_use_are_those_of_the_formulas(office_api, controller, budget, address):
    lawn, drip = zones_of(controller, 1_000 * FT2, 500 * FT2)
    drip.head_kind = "drip"
    drip.save()
    garden_bed = cast.make_zone(
        controller, number=3, area_m2=68 * FT2, plant_factor=0.6, is_special_landscape=True
    )

    content = ask(office_api, address, units="us")

    (allowance,) = content["allowances"]
    et0_in = sum(content["weather"]["et0"]["values"])
    # 23 CCR 492.4: MAWA = ETo x .62 x (ETAF x LA + (1 - ETAF) x SLA); ETWU beside it.
    granted = et0_in * 0.62 * (0.55 * 1_568 + 0.45 * 68)
    used = [et0_in * 0.62 * part for part in (0.6 * 1_000 / 0.75, 0.6 * 500 / 0.81, 68)]
    assert allowance["allowance"] == {"value": pytest.approx(granted, rel=1e-5), "unit": "gal"}
    assert [each["use"]["value"] for each in allowance["zones"]] == pytest.approx(used, rel=1e-5)
    assert allowance["use"]["value"] == pytest.approx(sum(used), rel=1e-5)
    assert allowance["over"]["value"] == pytest.approx(sum(used) - granted, rel=1e-4)
    assert allowance["over_percent"] == pytest.approx(100 * (sum(used) / granted - 1), rel=1e-4)
    assert [each["zone"] for each in allowance["zones"]] == [
        str(each.pk) for each in (lawn, drip, garden_bed)
    ]
    assert [(z["method"], z["is_special"], z["number"], z["name"]) for z in allowance["zones"]] == [
        ("overhead", False, 1, "Bed 1"), ("drip", False, 2, "Bed 2"),
        ("overhead", True, 3, "Front lawn"),
    ]  # fmt: skip
    assert sum(each["share"] for each in allowance["zones"]) == pytest.approx(1.0)
    assert content["sentence"] == allowance["sentence"]
    assert allowance["sentence"].startswith("The ordinance grants ")


def test_reclaimed_water_makes_every_zone_special(office_api, garden, controller, budget, address):
    zones_of(controller, 100.0)
    garden.water_source = "reclaimed"
    garden.save()

    (allowance,) = ask(office_api, address)["allowances"]

    assert [each["is_special"] for each in allowance["zones"]] == [True]
    assert allowance["over_percent"] == pytest.approx(0.0, abs=1e-9)


def test_the_stricter_of_county_and_supplier_governs(
    office_api, controller, district, budget, address
):
    # BUD-09: San Diego County regulatory code 87590 and 87601.
    county = rule_rows.make_budget(district, name="The county", factor=0.42)
    peak = rule_rows.make_budget(
        district, name="The programme", factor=0.7, special_factor=0.7, span="peak_month",
        gallons_per_inch_ft2=0.6233,
    )  # fmt: skip
    zones_of(controller, 100.0)

    content = ask(office_api, address)

    governs = {each["id"]: each["governs"] for each in content["allowances"]}
    assert governs == {str(budget.pk): False, str(county.pk): True, str(peak.pk): True}
    assert [each["month"] for each in content["allowances"] if each["id"] == str(peak.pk)] == [7]
    assert "The county grants" in content["sentence"]
    assert "The programme grants" in content["sentence"]
    assert "The ordinance grants" not in content["sentence"]


@pytest.mark.parametrize(
    ("year", "told"),
    # BUD-10: 23 CCR 968: .80 to 30 Jun 2035; .63 to 30 Jun 2040; then .55. Today is 10 June 2026.
    [
        (2025, (0.80, "2025-12-31")), (2026, (0.80, "2026-06-10")), (2035, (0.80, "2035-01-01")),
        (2036, (0.63, "2036-01-01")), (2040, (0.63, "2040-01-01")), (2041, (0.55, "2041-01-01")),
    ],
)  # fmt: skip
def test_the_factor_of_a_supplier_falls_by_date(
    office_api, controller, district, address, year, told
):
    for each, first, last in (
        (0.80, None, "2035-06-30"), (0.63, "2035-07-01", "2040-06-30"), (0.55, "2040-07-01", None),
    ):  # fmt: skip
        rule_rows.make_budget(district, factor=each, first_date=first, last_date=last)
    zones_of(controller, 100.0)

    content = ask(office_api, address, year=year)

    (allowance,) = content["allowances"]
    assert (allowance["factor"], content["rules_on"]) == told
    assert content["year"] == year


def test_a_budget_is_of_the_classes_that_it_names(
    office_api, garden, controller, district, address
):
    rule_rows.make_budget(district, property_classes=["residential"])
    others = rule_rows.make_budget(district, property_classes=["commercial", "public"], factor=0.45)
    zones_of(controller, 100.0)
    garden.property_class = "public"
    garden.save()

    content = ask(office_api, address)

    assert [each["id"] for each in content["allowances"]] == [str(others.pk)]


def test_a_year_that_is_over_and_known_is_counted_with_its_own_weather(
    office_api, controller, budget, station, address
):
    zones_of(controller, 100.0)
    for day in WeatherDay.objects.filter(date__year=2019):
        day.et0_mm, day.rain_mm = 4.0, 1.0
        day.save()

    of_2019 = ask(office_api, address, year=2019)["weather"]
    usual = ask(office_api, address, year=2026)["weather"]
    WeatherDay.objects.filter(date=dt.date(2019, 5, 5)).delete()
    broken = ask(office_api, address, year=2019)["weather"]

    assert (of_2019["is_measured"], of_2019["years_used"]) == (True, 1)
    assert (of_2019["first_date"], of_2019["last_date"]) == ("2019-01-01", "2019-12-31")
    assert sum(of_2019["et0"]["values"]) == pytest.approx(4.0 * 365)
    assert of_2019["rain"]["values"][1] == pytest.approx(28.0)
    assert (usual["is_measured"], usual["years_used"], usual["station_code"]) == (
        False, 6, "ZZTEST00001",
    )  # fmt: skip
    assert broken["is_measured"] is False


def test_what_is_missing_is_named_and_left_out(office_api, controller, budget, address):
    zones_of(controller, 100.0, None)

    content = ask(office_api, address)

    assert [each["number"] for each in content["without_area"]] == [2]
    assert [each["number"] for each in content["allowances"][0]["zones"]] == [1]
    assert content["sentence"].endswith(
        "Left out for want of an area: zone 2 Bed 2. Measure and enter it."
    )


def test_without_an_area_or_a_zone_there_is_a_sentence(office_api, controller, budget, address):
    empty = ask(office_api, address)
    zones_of(controller, None)
    unmeasured = ask(office_api, address)

    assert empty["sentence"] == (
        "No water budget can be counted. The property has no active zone: enter its zones."
    )
    assert unmeasured["sentence"].startswith(
        "No water budget can be counted. Left out for want of an area: zone 1 Bed 1."
    )
    assert empty["allowances"] == unmeasured["allowances"] == []


def test_a_district_without_a_budget_is_an_answer(office_api, garden, controller, address):
    nowhere = ask(office_api, address)
    garden.watering_district = rule_rows.make_district()
    garden.save()
    without = ask(office_api, address)

    assert nowhere["sentence"] == (
        "No watering district is known for this address, so it has no water budget. "
        "Put the property in its district."
    )
    assert without["sentence"] == (
        "Tallgrass Water has no water budget for residential properties on "
        "Wednesday 10 June 2026. Enter it with the district if there is one."
    )
    for content in (nowhere, without):
        assert (content["allowances"], content["weather"], content["plan"]) == ([], None, None)


def test_without_weather_the_refusal_names_its_cure(office_api, zone, budget, station, address):
    WeatherDay.objects.all().delete()

    answer = office_api.get(address)

    assert (answer.status_code, answer.json()["errors"][0]["code"]) == (409, "no-station")


def test_the_litres_of_the_plan_stand_beside(office_api, garden, controller, budget, address):
    zone, other = zones_of(controller, 200.0, 100.0)
    cast.make_heads(zone)

    content = ask(office_api, address)

    litres = property_season(garden, cast.TODAY).litres
    granted = content["allowances"][0]["allowance"]["value"]
    assert content["plan"] == {"value": pytest.approx(litres, rel=1e-5), "unit": "L"}
    assert content["plan_sentence"] == (
        f"The plan puts down {litres:,.0f} L in a usual year, before any rain: "
        f"{100 * litres / granted:.0f} % of what The ordinance grants, without zone {other}."
    )


def test_a_property_without_plans_says_so(office_api, controller, budget, address):
    zones_of(controller, 100.0)

    content = ask(office_api, address)

    assert (content["plan"], content["plan_sentence"]) == (None, "No zone has a plan with litres.")


@pytest.mark.parametrize("year", ["1492", "next", "2101"])
def test_a_year_that_is_none_is_refused(office_api, budget, address, year):
    answer = office_api.get(address, {"year": year})

    assert (answer.status_code, pointers(answer)) == (400, ["/year"])


def test_the_number_of_queries_does_not_grow_with_zones_and_budgets(
    office_api, controller, district, budget, address, django_assert_max_num_queries
):
    def cost() -> int:
        with django_assert_max_num_queries(60) as queries:
            ask(office_api, address, year=2019)
        return len(queries)

    zones = zones_of(controller, 100.0, 100.0)
    for zone in zones:
        cast.make_heads(zone)
    before = cost()
    for number in range(3, 8):
        cast.make_heads(cast.make_zone(controller, number=number))
        rule_rows.make_budget(district, name=f"Budget {number}")

    assert cost() == before
