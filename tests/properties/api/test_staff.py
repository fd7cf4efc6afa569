"""Hiring, tokens for technicians, and help for whoever cannot get in."""

from __future__ import annotations

from base64 import b32decode
from uuid import uuid4

import pytest
from rest_framework.test import APIClient

from properties.models import AccessToken, Event, StaffMember
from properties.services.sign_in import issue_program_token
from tests import cast
from tests.conftest import client_of
from tests.problems import pointers
from tests.properties.api.bodies import API, member

SIGN_IN = f"{API}/sign-in"


# Hiring


def test_the_office_hires_a_technician(office_api, office):
    answer = office_api.post(f"{API}/staff", member())

    assert answer.status_code == 201
    hired = answer.json()
    assert {name: hired[name] for name in member()} == member()
    assert hired["is_active"] is True
    assert "password" not in hired
    assert office_api.get(f"{API}/staff/{hired['id']}").json() == hired
    assert Event.objects.get(subject_id=hired["id"]).actor == office


def test_the_office_hires_an_office_user_who_sets_up_a_second_factor_and_gets_in(
    office_api, anonymous_api
):
    body = {**member(), "role": "office", "password": "another-long-password"}
    credentials = {"email": body["email"].upper(), "password": body["password"]}

    assert office_api.post(f"{API}/staff", body).status_code == 201
    refused = anonymous_api.post(SIGN_IN, credentials)
    assert (refused.status_code, refused.json()["code"]) == (401, "second-factor-needed")
    begun = anonymous_api.post(f"{API}/second-factor", credentials).json()
    code = cast.code_at(key=b32decode(begun["secret"]).hex())
    enrolled = anonymous_api.post(
        f"{API}/second-factor/confirm", {"ticket": begun["ticket"], "code": code}
    )

    assert enrolled.status_code == 201
    anonymous_api.credentials(HTTP_AUTHORIZATION=f"Bearer {enrolled.json()['token']}")
    assert anonymous_api.get(f"{API}/customers").status_code == 200


@pytest.mark.parametrize(
    ("wrong", "pointer"),
    [
        ({"role": "office"}, "/password"),
        ({"role": "office", "password": "short"}, "/password"),
        ({"password": "a-password-for-nothing"}, "/password"),
        ({"role": "boss"}, "/role"),
        ({"email": "x"}, "/email"),
        ({"email": "Office@Meadowlark.example"}, "/email"),
        ({"name": ""}, "/name"),
        ({"is_active": False}, "/is_active"),
        ({"is_superuser": True}, "/is_superuser"),
        ({"id": str(uuid4())}, "/id"),
    ],
)
def test_a_wrong_hire_is_named_and_not_made(office_api, wrong, pointer):
    answer = office_api.post(f"{API}/staff", {**member(), **wrong})

    assert answer.status_code == 400
    assert pointers(answer) == [pointer]
    assert StaffMember.objects.count() == 1


def test_staff_is_the_offices_business(technician_api, outsider_api, anonymous_api, office):
    for api, expected in ((technician_api, 403), (outsider_api, 403), (anonymous_api, 401)):
        assert api.get(f"{API}/staff").status_code == expected
        assert api.get(f"{API}/staff/{office.pk}").status_code == expected
        assert api.post(f"{API}/staff", member()).status_code == expected
        tokens = api.post(f"{API}/staff/{office.pk}/tokens", {"label": "x"})
        assert tokens.status_code == expected
    assert AccessToken.objects.filter(staff=office).count() == 0


def test_staff_is_listed_and_filtered(office_api, office, technician):
    rows = office_api.get(f"{API}/staff", {"role": "technician"}).json()["results"]

    assert [row["id"] for row in rows] == [str(technician.pk)]
    assert len(office_api.get(f"{API}/staff").json()["results"]) == 2


# Tokens for technicians


def test_the_office_issues_a_token_that_a_technician_uses(office_api, office, technician):
    answer = office_api.post(f"{API}/staff/{technician.pk}/tokens", {"label": "Phone"})

    assert answer.status_code == 201
    assert answer.json()["staff"]["id"] == str(technician.pk)
    client = APIClient()
    client.credentials(HTTP_AUTHORIZATION=f"Bearer {answer.json()['token']}")
    assert client.get(f"{API}/company").status_code == 200
    token = AccessToken.objects.get(label="Phone")
    assert Event.objects.get(subject_id=token.pk).actor == office


@pytest.mark.parametrize(
    ("body", "pointer"),
    [({}, "/label"), ({"label": ""}, "/label"), ({"label": "x", "days": 9}, "/days")],
)
def test_a_token_needs_a_label_and_nothing_else(office_api, technician, body, pointer):
    answer = office_api.post(f"{API}/staff/{technician.pk}/tokens", body)

    assert pointers(answer) == [pointer]
    assert not AccessToken.objects.filter(staff=technician).exists()


def test_a_leaver_is_given_no_token(office_api, technician):
    technician.is_active = False
    technician.save()

    answer = office_api.post(f"{API}/staff/{technician.pk}/tokens", {"label": "Phone"})

    assert answer.status_code == 409
    assert answer.json()["code"] == "inactive-staff"
    assert answer.json()["remedy"]


def test_nobody_is_given_a_token_who_is_not_there(office_api):
    answer = office_api.post(f"{API}/staff/{uuid4()}/tokens", {"label": "Phone"})

    assert answer.status_code == 404


def test_an_office_user_is_given_no_token_by_a_colleague(office_api):
    other = cast.make_office("other@meadowlark.example")

    answer = office_api.post(f"{API}/staff/{other.pk}/tokens", {"label": "x"})

    assert (answer.status_code, answer.json()["code"]) == (409, "not-a-technician")
    assert not AccessToken.objects.filter(staff=other).exists()


# Help for whoever cannot get in


def test_a_lost_second_factor_is_reset_by_a_colleague(office_api, office):
    other = cast.make_office("other@meadowlark.example")
    theirs = client_of(other)

    answer = office_api.post(f"{API}/staff/{other.pk}/reset-second-factor")

    assert (answer.status_code, answer.json()["second_factor_at"]) == (200, None)
    assert theirs.get(f"{API}/company").status_code == 401
    assert Event.objects.get(act="second factor reset").actor == office
    own = office_api.post(f"{API}/staff/{office.pk}/reset-second-factor")
    assert (own.status_code, own.json()["code"]) == (409, "own-second-factor")


def test_whoever_failed_too_often_is_unlocked_by_a_colleague(office_api, anonymous_api, settings):
    settings.SIGN_IN_FAILURES_OF_ACCOUNT = 1
    other = cast.make_office("other@meadowlark.example")
    cast.make_second_factor(other)
    wrong = {"email": other.email, "password": "wrong", "code": "000000"}
    right = {"email": other.email, "password": cast.PASSWORD, "code": cast.code_at()}

    statuses = [anonymous_api.post(SIGN_IN, wrong).status_code for _ in range(2)]
    assert statuses == [401, 429]
    assert anonymous_api.post(SIGN_IN, right).status_code == 429
    assert office_api.post(f"{API}/staff/{other.pk}/unlock").status_code == 200
    assert anonymous_api.post(SIGN_IN, right).status_code == 201


def test_a_programs_token_does_no_such_thing(office, technician):
    _, secret = issue_program_token(office, label="Bookkeeping", days=30, now=cast.NOW)
    program = APIClient()
    program.credentials(HTTP_AUTHORIZATION=f"Bearer {secret}")

    assert program.get(f"{API}/staff").status_code == 200
    for path, body in (
        ("staff", member()),
        (f"staff/{technician.pk}/tokens", {"label": "x"}),
        (f"staff/{technician.pk}/unlock", {}),
        (f"staff/{technician.pk}/reset-second-factor", {}),
        ("tokens", {"label": "x"}),
        ("recovery-codes", {"code": "000000"}),
    ):
        answer = program.post(f"{API}/{path}", body)
        assert answer.status_code == 403, path
        assert "Sign in yourself" in answer.json()["detail"]
