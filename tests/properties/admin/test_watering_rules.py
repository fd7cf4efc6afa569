"""The office keeps watering rules on its pages."""

from __future__ import annotations

import pytest
from django.test import Client

from properties.models import Event, Property, StagePeriod, WateringRule
from tests.properties import rule_rows
from tests.properties.admin.forms import (
    add_address,
    address_of,
    errors_of,
    filled_form,
    list_address,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def district(company):
    return rule_rows.make_district()


def entered(pages, district, **changes):
    form = filled_form(pages, add_address(WateringRule)) | {
        "district": str(district.pk), "name": "Odd", "addresses": "odd", "weekdays": ["2", "5"],
        "hours": "00:00-10:00, 19:00-24:00", "exempt_methods": ["drip", "hand"],
        "property_classes": [], "only_methods": [], "only_waters": [], "exempt_waters": [],
    }  # fmt: skip
    return pages.post(add_address(WateringRule), form | changes)


def test_a_rule_is_entered_by_ticking_days_and_kinds(office_pages: Client, district):
    answer = entered(office_pages, district)

    rule = WateringRule.objects.get()
    assert answer.status_code == 302
    assert (rule.weekdays, rule.hours) == ([2, 5], ["00:00-10:00", "19:00-24:00"])
    assert (rule.exempt_methods, rule.property_classes) == (["drip", "hand"], [])
    assert rule.closed_hours is None
    assert Event.objects.get(subject_id=rule.pk).act == "created"


@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({"hours": "00:00-25:00"}, "hours", "no range of hours"),
        ({"is_ban": "on"}, "is_ban", "neither days nor hours"),
        ({"last_digits": "0-3"}, "last_digits", "another choice"),
        ({"weekdays": ["9"]}, "weekdays", "valid choice"),
        ({"first_date": "2026-06-02", "last_date": "2026-06-01"}, "last_date", "before"),
    ],
)
def test_a_wrong_rule_is_an_error_at_its_field(office_pages, district, changes, field, words):
    page = entered(office_pages, district, **changes)

    assert words in errors_of(page)[field][0]
    assert not WateringRule.objects.exists()


def test_adding_a_period_switches_the_stage_and_the_one_before_ends(office_pages, district):
    first = rule_rows.make_period(rule_rows.make_stage(district), first_date="2026-06-01")
    second = rule_rows.make_stage(district, "Stage 2")
    form = {"stage": str(second.pk), "first_date": "2026-06-05", "last_date": ""}
    page = filled_form(office_pages, add_address(StagePeriod))

    answer = office_pages.post(add_address(StagePeriod), page | form)
    earlier = office_pages.post(
        add_address(StagePeriod), page | form | {"first_date": "2026-05-01"}
    )

    first.refresh_from_db()
    assert answer.status_code == 302
    assert str(first.last_date) == "2026-06-04"
    assert "begins on 2026-06-01 already" in errors_of(earlier)["last_date"][0]
    assert StagePeriod.objects.count() == 2


def test_a_stage_is_ended_from_the_list(office_pages, district):
    period = rule_rows.make_period(rule_rows.make_stage(district), first_date="2026-06-01")
    chosen = {"action": "end_today", "_selected_action": str(period.pk)}

    office_pages.post(list_address(StagePeriod), chosen)

    period.refresh_from_db()
    assert str(period.last_date) == "2026-06-09"  # today is 10 June


def test_a_property_is_put_in_its_district(office_pages, garden: Property, district):
    form = filled_form(office_pages, address_of(garden)) | {
        "watering_district": str(district.pk), "property_class": "public", "house_number": "7",
    }  # fmt: skip

    wrong = office_pages.post(address_of(garden), form | {"house_number": "7a"})
    office_pages.post(address_of(garden), form)

    garden.refresh_from_db()
    assert "no house number" in errors_of(wrong)["house_number"][0]
    assert (garden.watering_district, garden.property_class, garden.number()) == (
        district, "public", 7,
    )  # fmt: skip


def test_saving_the_untouched_rule_writes_nothing(office_pages, district):
    rule = rule_rows.make_rule(district, hours=["00:00-10:00"], exempt_methods=["drip"])
    form = filled_form(office_pages, address_of(rule))
    lists = {"weekdays": ["2", "5"], "exempt_methods": ["drip"]}
    empty = ("property_classes", "only_methods", "only_waters", "exempt_waters")

    office_pages.post(address_of(rule), {**form, **lists, **{name: [] for name in empty}})

    rule.refresh_from_db()
    assert rule.revision == 1
