"""The page of the clients: an address that the mail server refused is trusted again."""

from __future__ import annotations

import pytest
from django.contrib.messages import get_messages
from django.urls import reverse

from properties.models import Customer, Event
from properties.models.customers import address_sha256
from tests import cast


@pytest.fixture
def customer(company):
    email = "ingrid@holm.example"
    return cast.make_customer(
        wants_notices=True, email=email, refused_address_sha256=address_sha256(email)
    )


def trust(pages, *customers):
    return pages.post(
        reverse("admin:properties_customer_changelist"),
        {"action": "trust_address", "_selected_action": [str(each.pk) for each in customers]},
    )


def test_a_refused_address_is_trusted_again(office_pages, office, customer):
    answer = trust(office_pages, customer)

    assert Customer.objects.get().mail_block() is None
    event = Event.objects.get()
    assert (event.act, event.actor) == ("address trusted again", office)
    assert "1 trusted again" in str(*get_messages(answer.wsgi_request))


def test_one_that_was_not_refused_keeps_no_other_waiting(office_pages, customer):
    other = cast.make_customer(name="Kai Berg", email="kai@berg.example")

    answer = trust(office_pages, other, customer)

    assert Customer.objects.get(pk=customer.pk).mail_block() is None
    told = " ".join(str(message) for message in get_messages(answer.wsgi_request))
    assert "Kai Berg: The mail server has not refused" in told
    assert "1 trusted again" in told
