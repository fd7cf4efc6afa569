"""Who may be mailed, and how a client stops it."""

from __future__ import annotations

import datetime as dt

import pytest

from properties.models import Customer, Event
from properties.models.customers import address_sha256
from properties.services.mail_consent import refuse_address, stop_notices
from properties.services.rows import change_row
from tests import cast

pytestmark = pytest.mark.django_db
LATER = cast.NOW + dt.timedelta(days=1)


@pytest.fixture
def customer(company):
    return cast.make_customer(wants_notices=True)


@pytest.mark.parametrize(
    ("changes", "block"),
    [
        ({}, None),
        ({"wants_notices": False}, "no-consent"),
        ({"wants_notices": False, "unsubscribed_at": cast.NOW}, "unsubscribed"),
        ({"unsubscribed_at": cast.NOW}, None),
        ({"email": ""}, "no-address"),
        ({"email": "ingrid at holm"}, "broken-address"),
        ({"email": "ingrid@holm.example\nBcc: all@example.org"}, "broken-address"),
        ({"refused_address_sha256": address_sha256("Ingrid@Holm.example ")}, "refused-address"),
        ({"refused_address_sha256": address_sha256("old@holm.example")}, None),
    ],
)
def test_a_client_is_mailed_only_with_consent_and_an_address(customer, changes, block):
    for name, value in changes.items():
        setattr(customer, name, value)

    assert customer.mail_block() == block


def test_a_client_stops_the_notices_once(customer):
    stop_notices(customer.pk, now=cast.NOW)
    stop_notices(customer.pk, now=LATER)

    stored = Customer.objects.get()
    assert (stored.wants_notices, stored.unsubscribed_at) == (False, cast.NOW)
    assert stored.mail_block() == "unsubscribed"
    event = Event.objects.get()
    assert (event.act, event.actor) == ("unsubscribed", None)


def test_who_agrees_again_is_mailed_again(customer, office):
    stopped = stop_notices(customer.pk, now=cast.NOW)

    agreed = {"wants_notices": True, "consent_note": "By telephone, 11 June."}
    again = change_row(stopped, agreed, actor=office, now=LATER)

    assert again.mail_block() is None


def test_a_refused_address_is_no_good_until_there_is_another(customer, office):
    refuse_address(customer.pk, customer.email, now=cast.NOW)
    refused = refuse_address(customer.pk, customer.email, now=LATER)

    assert refused.mail_block() == "refused-address"
    assert customer.email not in str(list(Event.objects.values("before", "after")))
    assert Event.objects.count() == 1
    mended = change_row(refused, {"email": "ingrid@home.example"}, actor=office, now=LATER)
    assert mended.mail_block() is None
