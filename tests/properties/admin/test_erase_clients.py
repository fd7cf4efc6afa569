"""The office erases a client at his page, and only the one whose name it types."""

from __future__ import annotations

import pytest
from django.test import Client

from properties.models import Customer, Event, StaffMember
from tests import cast
from tests.properties.admin.forms import address_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def customer(company) -> Customer:
    return cast.make_customer()


def erase_address(customer: Customer) -> str:
    return f"/admin/properties/customer/{customer.pk}/erase/"


def test_a_client_is_erased_by_reason_and_name(
    office_pages: Client, office: StaffMember, customer: Customer
):
    assert erase_address(customer) in office_pages.get(address_of(customer)).text
    typed = {"reason": "asked", "typed_name": " Ingrid Holm "}

    page = office_pages.post(erase_address(customer), typed, follow=True)

    assert page.redirect_chain == [(address_of(customer), 302)]
    assert "Erased on 2026-06-10: The client asked for it." in page.text
    assert "Ingrid" not in page.text
    assert Event.objects.get(act="erased").actor == office


@pytest.mark.parametrize(
    "typed",
    [
        {"reason": "asked", "typed_name": "Ingrid Hol"}, {"reason": "asked", "typed_name": ""},
        {"reason": "because", "typed_name": "Ingrid Holm"},
    ],
)  # fmt: skip
def test_another_name_or_reason_erases_nobody(office_pages: Client, customer: Customer, typed):
    page = office_pages.post(erase_address(customer), typed)

    assert page.status_code == 200
    customer.refresh_from_db()
    assert customer.name == "Ingrid Holm"


def test_a_refusal_stands_at_the_form(office_pages: Client, customer: Customer, technician):
    cast.make_visit(cast.make_property(customer), technician)

    typed = {"reason": "asked", "typed_name": "Ingrid Holm"}
    page = office_pages.post(erase_address(customer), typed)

    assert "Call it off or finish it first." in page.text
    customer.refresh_from_db()
    assert customer.name == "Ingrid Holm"


def test_a_technician_and_a_stranger_do_not_come_in(customer: Customer, technician: StaffMember):
    by_technician = Client()
    by_technician.force_login(technician)

    for client in (Client(), by_technician):
        assert client.get(erase_address(customer)).status_code == 302
