"""What the office enters of hoses, paving, meters and the notice before digging."""

from __future__ import annotations

import pytest
from django.test import Client

from properties.models import Company, Event, HeadGroup, Property, Zone
from tests import cast
from tests.properties.admin.forms import address_of, errors_of, filled_form

pytestmark = pytest.mark.django_db


def test_paving_and_hose_positions_are_entered_on_the_page_of_the_zone(
    office_pages: Client, zone: Zone
):
    heads = cast.make_heads(zone, kind="hose_end")
    form = filled_form(office_pages, address_of(zone)) | {
        "is_bounded_by_paving": "true", "strip_width_m": "0.9", "least_paving_gap_m": "0.1",
        "head_groups-0-position": "back lawn", "head_groups-0-tap": "kitchen",
        "head_groups-0-wetted_area_m2": "80",
    }  # fmt: skip

    answer = office_pages.post(address_of(zone), form)

    zone.refresh_from_db()
    heads.refresh_from_db()
    assert answer.status_code == 302
    assert (zone.is_bounded_by_paving, zone.strip_width_m, zone.least_paving_gap_m) == (
        True, 0.9, 0.1,
    )  # fmt: skip
    assert (heads.position, heads.tap, heads.wetted_area_m2) == ("back lawn", "kitchen", 80)


def test_the_tap_of_a_piped_head_is_an_error_and_writes_nothing(office_pages: Client, zone: Zone):
    heads = cast.make_heads(zone)
    form = filled_form(office_pages, address_of(zone)) | {"head_groups-0-tap": "kitchen"}

    page = office_pages.post(address_of(zone), form)

    assert page.status_code == 200
    assert "hose-end sprinklers alone" in page.content.decode()
    assert HeadGroup.objects.get(pk=heads.pk).tap == ""


def test_the_error_of_the_meter_is_entered_in_percent(office_pages: Client, garden: Property):
    form = filled_form(office_pages, address_of(garden)) | {"meter_error_percent": "2.5"}
    refused = form | {"meter_error_percent": "51"}

    page = office_pages.post(address_of(garden), refused)
    office_pages.post(address_of(garden), form)

    assert "between 0 and 50" in errors_of(page)["meter_error_percent"][0]
    assert Property.objects.get().meter_error_percent == 2.5


def test_notice_and_holidays_are_entered_on_the_page_of_the_company(
    office_pages: Client, company: Company
):
    form = filled_form(office_pages, address_of(company)) | {
        "digging_business_days": "3", "digging_longest_days": "10",
        "holidays": "2027-01-01, 2026-12-25",
    }  # fmt: skip

    office_pages.post(address_of(company), form)

    company.refresh_from_db()
    assert (company.digging_business_days, company.digging_longest_days) == (3, 10)
    assert company.holidays == ["2026-12-25", "2027-01-01"]
    assert Event.objects.get(subject_id=company.pk).act == "changed"


@pytest.mark.parametrize(
    ("field", "entered", "words"),
    [
        ("holidays", "2026-12-25 Christmas", "such as 2026-12-25"),
        ("digging_longest_days", "1", "hold longer than it takes"),
        ("digging_business_days", "31", "between 0 and 30"),
    ],
)
def test_a_wrong_rule_is_an_error_at_its_field(
    office_pages: Client, company: Company, field: str, entered: str, words: str
):
    changes = {"digging_longest_days": "60", field: entered}
    form = filled_form(office_pages, address_of(company)) | changes

    page = office_pages.post(address_of(company), form)

    assert words in errors_of(page)[field][0]
    assert Company.objects.get().revision == 1


def test_saving_the_untouched_company_writes_nothing(office_pages: Client, company: Company):
    company.holidays = ["2026-12-25", "2027-01-01"]
    company.save()

    office_pages.post(address_of(company), filled_form(office_pages, address_of(company)))

    assert Company.objects.get().revision == 1
