"""The office takes a catch test out of force at its page."""

from __future__ import annotations

import datetime as dt

import pytest
from django.test import Client

from audits.models import CatchTest, Visit
from audits.selectors.zones import ruling_tests
from properties.models import Event, StaffMember, Zone
from tests import cast
from tests.conftest import pages_of
from tests.properties.admin.forms import address_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def taken(visit: Visit, zone: Zone) -> CatchTest:
    return cast.make_catch_test(visit, zone)


def void_address(test: CatchTest) -> str:
    return f"/admin/audits/catchtest/{test.pk}/void/"


def test_a_test_is_voided_with_a_reason_and_the_one_before_it_rules(
    office_pages: Client, office: StaffMember, visit: Visit, zone: Zone, taken: CatchTest
):
    earlier = cast.make_catch_test(visit, zone, taken_at=cast.NOW - dt.timedelta(hours=2))
    measured = CatchTest.objects.values("rate_mm_h", "cups", "du_lq").get(pk=taken.pk)

    page = office_pages.post(void_address(taken), {"reason": " Wrong zone ran. "}, follow=True)

    taken.refresh_from_db()
    assert page.redirect_chain == [(address_of(taken), 302)]
    assert (taken.voided_at, taken.void_reason) == (cast.NOW, "Wrong zone ran.")
    assert ruling_tests([zone.pk])[zone.pk] == earlier
    assert CatchTest.objects.values("rate_mm_h", "cups", "du_lq").get(pk=taken.pk) == (measured)
    event = Event.objects.get(subject_id=taken.pk)
    assert (event.act, event.actor) == ("voided", office)


def test_the_tests_page_leads_there_until_it_is_voided(office_pages: Client, taken: CatchTest):
    assert void_address(taken) in office_pages.get(address_of(taken)).text
    page = office_pages.get(void_address(taken))
    assert "Holm garden, zone 1 Front lawn: 12 cups on 2026-06-10" in page.text

    office_pages.post(void_address(taken), {"reason": "Wrong zone ran."})

    page = office_pages.get(address_of(taken)).text
    assert void_address(taken) not in page
    assert "Wrong zone ran." in page


@pytest.mark.parametrize("reason", ["", "   ", "x" * 501])
def test_without_a_good_reason_it_stays_in_force(
    office_pages: Client, taken: CatchTest, reason: str
):
    page = office_pages.post(void_address(taken), {"reason": reason})

    assert page.status_code == 200
    assert page.context["form"].errors["reason"]
    assert CatchTest.objects.get().voided_at is None
    assert not Event.objects.filter(subject_id=taken.pk).exists()


def test_a_test_is_voided_once_and_the_page_says_so(office_pages: Client, taken: CatchTest):
    office_pages.post(void_address(taken), {"reason": "First."})

    page = office_pages.post(void_address(taken), {"reason": "Second."})

    assert "was voided already: First." in page.context["form"].non_field_errors()[0]
    assert CatchTest.objects.get().void_reason == "First."


def test_a_reason_is_shown_as_it_is_and_never_as_markup(office_pages: Client, taken: CatchTest):
    office_pages.post(void_address(taken), {"reason": "<script>alert(1)</script>"})

    page = office_pages.post(void_address(taken), {"reason": "Again."}).text

    assert "<script>alert(1)" not in page
    assert "&lt;script&gt;alert(1)" in page


def test_nobody_but_the_office_gets_the_page(
    client: Client, technician: StaffMember, taken: CatchTest
):
    nobody = client.post(void_address(taken), {"reason": "No."})
    wrong_role = pages_of(technician).post(void_address(taken), {"reason": "No."})

    for answer in (nobody, wrong_role):
        assert answer.status_code == 302
        assert "/admin/login/" in answer["Location"]
    assert CatchTest.objects.get().voided_at is None


def test_an_unknown_test_is_not_found(office_pages: Client):
    unknown = "/admin/audits/catchtest/00000000-0000-7000-8000-000000000000/void/"

    assert office_pages.get(unknown).status_code == 404
