"""Signing in and out, hiring, and tokens for technicians."""

from __future__ import annotations

from uuid import uuid4

import pytest
from rest_framework.test import APIClient
from rest_framework.throttling import ScopedRateThrottle

from properties.models import AccessToken, Event, StaffMember
from tests import cast
from tests.conftest import client_of
from tests.problems import pointers
from tests.properties.api.bodies import API, member

SIGN_IN = f"{API}/sign-in"


def credentials(**changes):
    return {"email": "office@meadowlark.example", "password": cast.PASSWORD, **changes}


def test_the_office_signs_in_and_uses_the_token(anonymous_api, office):
    answer = anonymous_api.post(SIGN_IN, credentials(label="Laptop"))

    assert answer.status_code == 201
    issued = answer.json()
    assert issued["staff"] == {
        "id": str(office.pk), "email": office.email, "name": "Office", "role": "office",
        "is_active": True,
    }  # fmt: skip
    assert issued["expires_at"] == "2026-09-08T15:00:00Z"
    client = APIClient()
    client.credentials(HTTP_AUTHORIZATION=f"Bearer {issued['token']}")
    assert client.get(f"{API}/customers").status_code == 200
    assert AccessToken.objects.get().label == "Laptop"


@pytest.mark.parametrize(
    "wrong", [{"password": "not-the-password"}, {"email": "nobody@meadowlark.example"}]
)
def test_a_failed_sign_in_does_not_say_what_was_wrong(anonymous_api, office, wrong):
    answer = anonymous_api.post(SIGN_IN, credentials(**wrong))

    assert answer.status_code == 401
    problem = answer.json()
    assert problem["type"] == "/problems/sign-in"
    assert problem["detail"] == "E-mail or password is wrong."
    assert "errors" not in problem
    assert not AccessToken.objects.exists()


@pytest.mark.parametrize(
    ("wrong", "pointer"),
    [
        ({"email": "x"}, "/email"),
        ({"password": ""}, "/password"),
        ({"password": "x" * 201}, "/password"),
        ({"label": "x" * 101}, "/label"),
        ({"role": "office"}, "/role"),
    ],
)
def test_a_misshapen_sign_in_is_named(anonymous_api, office, wrong, pointer):
    assert pointers(anonymous_api.post(SIGN_IN, credentials(**wrong))) == [pointer]


def test_spaces_belong_to_a_password(anonymous_api, office):
    padded = credentials(password=f" {cast.PASSWORD} ")

    assert anonymous_api.post(SIGN_IN, padded).status_code == 401


def test_guessing_is_slowed_down(anonymous_api, office, monkeypatch):
    monkeypatch.setattr(ScopedRateThrottle, "THROTTLE_RATES", {"sign-in": "3/min"})
    monkeypatch.setattr(ScopedRateThrottle, "cache", _Memory())
    answers = [anonymous_api.post(SIGN_IN, credentials(password="guess")) for _ in range(4)]

    assert [answer.status_code for answer in answers] == [401, 401, 401, 429]
    assert 1 <= int(answers[-1]["Retry-After"]) <= 61
    assert answers[-1].json()["type"] == "/problems/throttled"


class _Memory(dict):
    """As much of a cache as the throttle needs."""

    def set(self, key, value, duration):
        self[key] = value


@pytest.mark.parametrize("verb", ["get", "put", "patch", "delete"])
def test_signing_in_is_posted(anonymous_api, company, verb):
    assert getattr(anonymous_api, verb)(SIGN_IN).status_code == 405


def test_signing_out_ends_this_token_and_no_other(office, office_api):
    other = client_of(office)

    assert office_api.post(f"{API}/sign-out").status_code == 204
    assert office_api.get(f"{API}/company").status_code == 401
    assert office_api.post(f"{API}/sign-out").status_code == 401
    assert other.get(f"{API}/company").status_code == 200
    assert Event.objects.filter(act="token revoked").count() == 1


def test_a_technician_signs_out_too(technician_api, anonymous_api):
    assert anonymous_api.post(f"{API}/sign-out").status_code == 401
    assert technician_api.post(f"{API}/sign-out").status_code == 204
    assert technician_api.get(f"{API}/company").status_code == 401


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


def test_the_office_hires_an_office_user_who_can_sign_in(office_api, anonymous_api):
    body = {**member(), "role": "office", "password": "another-long-password"}

    assert office_api.post(f"{API}/staff", body).status_code == 201
    signed_in = anonymous_api.post(
        SIGN_IN, {"email": body["email"].upper(), "password": body["password"]}
    )
    assert signed_in.status_code == 201


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
    assert answer.json()["type"] == "/problems/inactive-staff"
    assert answer.json()["remedy"]


def test_nobody_is_given_a_token_who_is_not_there(office_api):
    answer = office_api.post(f"{API}/staff/{uuid4()}/tokens", {"label": "Phone"})

    assert answer.status_code == 404
