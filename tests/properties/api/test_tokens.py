"""One's own tokens, and nobody else's."""

from __future__ import annotations

import datetime as dt

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from rest_framework.test import APIClient

from properties.models import AccessToken
from properties.services.sign_in import issue_token
from tests import cast
from tests.conftest import client_of
from tests.problems import pointers
from tests.properties.api.bodies import API

TOKENS = f"{API}/tokens"


def test_a_program_is_given_a_token_that_is_shown_once(office_api, office):
    answer = office_api.post(TOKENS, {"label": "Bookkeeping", "days": 30})

    assert answer.status_code == 201
    secret = answer.json()["token"]
    program = APIClient()
    program.credentials(HTTP_AUTHORIZATION=f"Bearer {secret}")
    assert program.get(f"{API}/customers").status_code == 200
    assert secret not in office_api.get(TOKENS).content.decode()
    assert AccessToken.objects.get(label="Bookkeeping").kind == "program"


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        ({}, "/label"),
        ({"label": "x", "days": 0}, "/days"),
        ({"label": "x", "days": 366}, "/days"),
        ({"label": "x", "days": "soon"}, "/days"),
        ({"label": "x", "kind": "sign_in"}, "/kind"),
        ({"label": "x", "staff": "me"}, "/staff"),
    ],
)
def test_a_wrong_token_is_named_and_not_made(office_api, body, pointer):
    answer = office_api.post(TOKENS, body)

    assert (answer.status_code, pointers(answer)) == (400, [pointer])
    assert AccessToken.objects.count() == 1


def test_ones_own_tokens_are_listed_without_what_signs_in(office_api, office, technician_api):
    rows = office_api.get(TOKENS).json()["results"]

    (token,) = AccessToken.objects.filter(staff=office)
    assert [row["id"] for row in rows] == [str(token.pk)]
    assert set(rows[0]) == {
        "id", "kind", "label", "created_at", "last_used_at", "expires_at", "revoked_at",
    }  # fmt: skip
    assert token.secret_hash not in str(rows)


def test_a_colleagues_token_is_not_found(office_api):
    other = cast.make_office("other@meadowlark.example")
    token, _ = issue_token(other, label="x", actor=other, now=cast.NOW)

    assert office_api.get(f"{TOKENS}/{token.pk}").status_code == 404
    assert office_api.post(f"{TOKENS}/{token.pk}/revoke").status_code == 404
    token.refresh_from_db()
    assert token.revoked_at is None


def test_one_is_revoked_and_the_others_go_on(office_api, office):
    here = AccessToken.objects.get(staff=office)
    lost = client_of(office)
    token = AccessToken.objects.exclude(pk=here.pk).get()

    for _ in range(2):
        answer = office_api.post(f"{TOKENS}/{token.pk}/revoke")
        assert (answer.status_code, answer.json()["revoked_at"]) == (200, "2026-06-10T15:00:00Z")

    assert lost.get(f"{API}/company").status_code == 401
    assert office_api.get(f"{API}/company").status_code == 200


def test_all_are_revoked_this_one_too(office_api, office, technician_api):
    client_of(office)

    assert office_api.post(f"{TOKENS}/revoke-all").json() == {"tokens": 2}

    assert office_api.get(f"{API}/company").status_code == 401
    assert technician_api.get(f"{API}/company").status_code == 200


def test_a_technician_sees_and_ends_his_own_and_makes_none(technician_api):
    (row,) = technician_api.get(TOKENS).json()["results"]

    assert technician_api.post(TOKENS, {"label": "x"}).status_code == 403
    assert technician_api.post(f"{TOKENS}/{row['id']}/revoke").status_code == 200
    assert technician_api.get(TOKENS).status_code == 401


def test_the_last_use_is_known_to_ten_minutes(office_api, office):
    token = AccessToken.objects.get(staff=office)
    moments = []
    for minutes in (0, 9, 11, 12):
        with time_machine.travel(cast.NOW + dt.timedelta(minutes=minutes), tick=False):
            office_api.get(f"{API}/company")
        token.refresh_from_db()
        moments.append((token.last_used_at - cast.NOW).total_seconds() / 60)

    assert moments == [0, 0, 11, 11]


def test_the_number_of_queries_of_the_list_is_constant(office_api, office):
    def cost():
        with CaptureQueriesContext(connection) as queries:
            office_api.get(TOKENS)
        return len(queries)

    few = cost()
    for _ in range(20):
        issue_token(office, label="x", actor=office, now=cast.NOW)

    assert cost() == few
