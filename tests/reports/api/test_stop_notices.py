"""The page at which notices are stopped."""

from __future__ import annotations

import datetime as dt
from uuid import uuid4

import pytest
from django.test import Client

from properties.models import Customer
from reports.models import ClientLink
from reports.services.links import stop_url
from tests import cast


@pytest.fixture
def customer(company):
    return cast.make_customer(wants_notices=True)


@pytest.fixture
def path(customer, settings):
    settings.PUBLIC_URL = "https://water.example/"
    return stop_url(customer.pk, now=cast.NOW).removeprefix("https://water.example")


def wants_notices() -> bool:
    return Customer.objects.get().wants_notices


def test_looking_at_it_changes_nothing_and_asks(client, path):
    page = client.get(path)

    assert (page.status_code, page["Cache-Control"]) == (200, "no-store")
    assert "Stop the watering notices of Meadowlark?" in page.content.decode()
    assert '<form method="post">' in page.content.decode()
    assert wants_notices()
    assert client.head(path).status_code == 200
    assert wants_notices()


def test_a_program_of_mail_stops_them_in_one_step(path):
    strict = Client(enforce_csrf_checks=True)

    for _ in range(2):
        done = strict.post(path, "List-Unsubscribe=One-Click", "application/x-www-form-urlencoded")
        assert done.status_code == 200

    assert not wants_notices()
    link = ClientLink.objects.get()
    assert link.uses == 2
    assert link.last_used_at is not None


def test_the_address_of_a_client_is_always_the_same(customer, path, settings):
    later = cast.NOW + dt.timedelta(days=400)

    assert stop_url(customer.pk, now=later).endswith(path)


@pytest.mark.parametrize("wrong", ["code", "id", "version", "called-back", "expired"])
def test_an_address_that_does_not_hold_stops_nothing(client, path, wrong):
    head, link_id, code = path.rsplit("/", 2)
    if wrong == "code":
        code = code[:-1] + ("A" if code[-1] != "A" else "B")
    elif wrong == "id":
        link_id = str(uuid4())
    else:
        changes = {
            "version": {"version": 2}, "called-back": {"revoked_at": cast.NOW},
            "expired": {"expires_at": cast.NOW - dt.timedelta(days=9999)},
        }  # fmt: skip
        ClientLink.objects.update(**changes[wrong])

    for verb in (client.get, client.post):
        answer = verb(f"{head}/{link_id}/{code}")
        assert answer.status_code == 404
        assert "does not hold" in answer.content.decode()
    assert wants_notices()


def test_the_name_of_the_company_is_literal_on_the_page(client, path, company):
    company.name = "<script>x</script>"
    company.save()

    assert "<script>" not in client.get(path).content.decode()


def test_other_verbs_are_refused(client, path):
    assert {client.put(path).status_code, client.delete(path).status_code} == {405}
