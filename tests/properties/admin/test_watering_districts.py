"""The office puts districts, stages, periods and rules right on its pages."""

from __future__ import annotations

import pytest

from properties.models import DroughtStage, Event, WaterBudget, WateringDistrict, WateringRule
from tests.properties import rule_rows
from tests.properties.admin.forms import add_address, address_of, errors_of, filled_form

pytestmark = pytest.mark.django_db


@pytest.fixture
def district(company):
    return rule_rows.make_district()


def send(pages, row, **changes):
    return pages.post(address_of(row), filled_form(pages, address_of(row)) | changes)


def test_a_stage_is_ended_on_a_date_on_its_page(office_pages, district):
    period = rule_rows.make_period(rule_rows.make_stage(district), first_date="2026-06-01")

    answer = send(office_pages, period, last_date="2026-06-20")

    period.refresh_from_db()
    assert (answer.status_code, str(period.last_date)) == (302, "2026-06-20")
    assert Event.objects.get(subject_id=period.pk).act == "ended"


def test_days_that_overlap_are_an_error_at_their_field(office_pages, district):
    stage = rule_rows.make_stage(district)
    period = rule_rows.make_period(stage, first_date="2026-06-01", last_date="2026-06-15")
    rule_rows.make_period(stage, first_date="2026-07-01")

    page = send(office_pages, period, last_date="2026-07-01")

    period.refresh_from_db()
    assert "End before 2026-07-01" in errors_of(page)["last_date"][0]
    assert str(period.last_date) == "2026-06-15"


def test_what_is_added_from_a_district_has_it_chosen(office_pages, district):
    page = office_pages.get(address_of(district)).content.decode()

    for model in (WateringRule, DroughtStage, WaterBudget):
        address = f"{add_address(model)}?district={district.pk}"
        assert f'href="{address}"' in page
        assert filled_form(office_pages, address)["district"] == str(district.pk)
    assert office_pages.get(add_address(WateringDistrict)).status_code == 200


def test_a_stage_that_is_on_is_not_retired(office_pages, district):
    stage = rule_rows.make_stage(district)
    rule_rows.make_period(stage, first_date="2026-06-01")

    page = send(office_pages, stage, is_retired="on")

    stage.refresh_from_db()
    assert "End that period first" in errors_of(page)["is_retired"][0]
    assert not stage.is_retired


def test_a_district_is_retired_once_it_is_empty(office_pages, garden, district):
    garden.watering_district = district
    garden.save()

    refused = send(office_pages, district, is_retired="on")
    garden.watering_district = None
    garden.save()
    send(office_pages, district, is_retired="on")

    district.refresh_from_db()
    assert "has 1 property" in errors_of(refused)["is_retired"][0]
    assert district.is_retired
    assert Event.objects.get(subject_id=district.pk).act == "retired"


def test_a_property_is_not_put_in_a_retired_district(office_pages, garden):
    district = rule_rows.make_district(is_retired=True)

    page = send(office_pages, garden, watering_district=str(district.pk))

    assert "retired" in errors_of(page)["watering_district"][0]


def test_a_rule_that_would_leave_no_hour_is_not_saved(office_pages, district):
    rule = rule_rows.make_rule(district, hours=["00:00-10:00"])
    names = ("property_classes", "only_methods", "exempt_methods", "only_waters", "exempt_waters")
    lists = {name: [] for name in names}

    page = send(office_pages, rule, **lists, weekdays=["2"], closed_hours="00:00-12:00")

    assert "leave no hour" in errors_of(page)["closed_hours"][0]


def test_a_budget_is_entered_and_put_right(office_pages, district):
    form = filled_form(office_pages, add_address(WaterBudget)) | {
        "district": str(district.pk), "name": "The ordinance", "source": "Order 7",
        "factor": "0.55", "property_classes": ["residential", "public"],
        "gallons_per_inch_ft2": "0.62", "overhead_efficiency": "0.75", "drip_efficiency": "0.81",
    }  # fmt: skip

    wrong = office_pages.post(add_address(WaterBudget), form | {"factor": "55"})
    office_pages.post(add_address(WaterBudget), form)
    budget = WaterBudget.objects.get()
    send(office_pages, budget, factor="0.42", property_classes=["residential", "public"])

    budget.refresh_from_db()
    assert "between 0.01 and 1.5" in errors_of(wrong)["factor"][0]
    assert (budget.factor, budget.special_factor, budget.revision) == (0.42, 1.0, 2)
    assert budget.property_classes == ["residential", "public"]
    acts = Event.objects.filter(subject_id=budget.pk).values_list("act", flat=True)
    assert sorted(acts) == ["changed", "created"]
