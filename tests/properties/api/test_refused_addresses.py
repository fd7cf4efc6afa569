"""The office trusts an address again that the mail server refused."""

from __future__ import annotations

import pytest

from properties.models import Customer, Event
from properties.models.customers import address_sha256
from tests import cast


@pytest.fixture
def customer(company):
    email = "ingrid@holm.example"
    return cast.make_customer(
        wants_notices=True, email=email, refused_address_sha256=address_sha256(email)
    )


def clear(api, customer):
    return api.post(f"/api/v1/customers/{customer.pk}/clear-refused-address")


def test_notices_go_out_to_it_again(office_api, office, customer):
    answer = clear(office_api, customer)

    assert (answer.status_code, answer.json()["mail_block"]) == (200, None)
    event = Event.objects.get(subject_id=customer.pk)
    assert (event.act, event.actor) == ("address trusted again", office)


def test_a_second_time_there_is_nothing_to_clear(office_api, customer):
    clear(office_api, customer)

    answer = clear(office_api, customer)

    assert answer.status_code == 409
    (error,) = answer.json()["errors"]
    assert (error["code"], error["pointer"]) == ("address-not-refused", "/email")


def test_only_the_office_may(technician_api, outsider_api, anonymous_api, customer):
    answers = [
        clear(api, customer).status_code for api in (technician_api, outsider_api, anonymous_api)
    ]

    assert answers == [403, 403, 401]
    assert Customer.objects.get().mail_block() == "refused-address"


def test_a_client_that_nobody_knows_is_not_found(office_api, customer, zone):
    assert office_api.post(
        f"/api/v1/customers/{zone.pk}/clear-refused-address"
    ).status_code == 404  # fmt: skip


def test_another_address_clears_it_too(office_api, customer):
    address = f"/api/v1/customers/{customer.pk}"
    first = office_api.get(address)

    answer = office_api.patch(
        address, {"email": "ingrid@home.example"}, headers={"If-Match": first["ETag"]}
    )

    assert (answer.status_code, answer.json()["mail_block"]) == (200, None)
    assert Customer.objects.get().refused_address_sha256 == ""
