"""Who may be mailed, and how a client stops it."""

from __future__ import annotations

import datetime as dt

import pytest

from properties.domain.errors import RefusedError
from properties.models import Customer, Event
from properties.models.customers import address_sha256
from properties.services.mail_consent import (
    change_customer,
    clear_refused_address,
    refuse_address,
    stop_notices,
)
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


def test_the_office_trusts_a_refused_address_again(customer, office):
    refuse_address(customer.pk, customer.email, now=cast.NOW)

    trusted = clear_refused_address(customer.pk, actor=office, now=LATER)

    assert trusted.mail_block() is None
    assert Customer.objects.get().mail_block() is None
    event = Event.objects.get(act="address trusted again")
    assert (event.actor, event.at) == (office, LATER)
    assert customer.email not in str(list(Event.objects.values("before", "after")))


@pytest.mark.parametrize("refused", ["", "old@holm.example"])
def test_an_address_that_was_never_refused_cannot_be_cleared(customer, office, refused):
    Customer.objects.update(refused_address_sha256=address_sha256(refused) if refused else "")

    with pytest.raises(RefusedError) as refusal:
        clear_refused_address(customer.pk, actor=office, now=LATER)

    assert (refusal.value.code, refusal.value.field) == ("address-not-refused", "email")
    assert "mail_block" in refusal.value.remedy
    assert not Event.objects.exists()


def test_an_address_that_comes_back_on_file_is_tried_again(customer, office):
    first = customer.email
    refused = refuse_address(customer.pk, first, now=cast.NOW)

    other = change_customer(refused, {"email": "ingrid@home.example"}, actor=office, now=LATER)
    back = change_customer(other, {"email": first}, actor=office, now=LATER)

    assert other.refused_address_sha256 == ""
    assert back.mail_block() is None


@pytest.mark.parametrize(
    "changes", [{"name": "Ingrid Berg"}, {"email": " INGRID@holm.example".strip()}]
)
def test_a_change_that_leaves_the_address_leaves_the_refusal(customer, office, changes):
    refused = refuse_address(customer.pk, customer.email, now=cast.NOW)

    changed = change_customer(refused, changes, actor=office, now=LATER)

    assert changed.mail_block() == "refused-address"
