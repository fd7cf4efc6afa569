"""Erasing a client over the API: the office alone, at the revision that it read."""

from __future__ import annotations

import pytest

from properties.models import Customer
from tests import cast

pytestmark = pytest.mark.django_db


@pytest.fixture
def customer(company) -> Customer:
    return cast.make_customer()


def erase(api, customer: Customer, *, match: str | None = '"1"', **body):
    headers = {} if match is None else {"If-Match": match}
    address = f"/api/v1/customers/{customer.pk}/erase"
    return api.post(address, {"reason": "asked", **body}, headers=headers)


def test_the_office_erases_a_client(office_api, customer):
    answer = erase(office_api, customer)

    assert answer.status_code == 200
    assert answer.json()["name"] == "Erased client"
    assert answer.json()["erased_at"] == "2026-06-10T15:00:00Z"
    customer.refresh_from_db()
    assert (customer.email, customer.phone, customer.erased_for) == ("", "", "asked")


@pytest.mark.parametrize(
    ("match", "body", "status"),
    [(None, {}, 428), ('"9"', {}, 412), ('"1"', {"reason": "because"}, 400)],
)  # fmt: skip
def test_who_did_not_read_or_gives_no_known_reason_erases_nothing(
    office_api, customer, match, body, status
):
    answer = erase(office_api, customer, match=match, **body)

    assert answer.status_code == status
    customer.refresh_from_db()
    assert customer.email == "ingrid@holm.example"


def test_a_technician_erases_nobody(technician_api, customer):
    assert erase(technician_api, customer).status_code == 403


def test_an_erased_client_takes_no_new_contact(office_api, customer):
    erase(office_api, customer)
    revision = Customer.objects.get(pk=customer.pk).revision

    answer = office_api.patch(
        f"/api/v1/customers/{customer.pk}", {"email": "again@holm.example"},
        headers={"If-Match": f'"{revision}"'},
    )  # fmt: skip

    assert answer.status_code == 400
    assert answer.json()["errors"][0]["pointer"] == "/email"
