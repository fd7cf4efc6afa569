"""Signing in and out by token and by browser session, over HTTP."""

from __future__ import annotations

import datetime as dt
from base64 import b32decode
from xml.etree import ElementTree

import pytest
import time_machine
from django.conf import settings as configured
from rest_framework.test import APIClient

from properties.models import AccessToken, Event
from tests import cast
from tests.conftest import client_of
from tests.problems import pointers
from tests.properties.api.bodies import API

SIGN_IN, SESSION = f"{API}/sign-in", f"{API}/session"
FACTOR, CONFIRM, CODES = (
    f"{API}/second-factor",
    f"{API}/second-factor/confirm",
    f"{API}/recovery-codes",
)
MINUTE = dt.timedelta(minutes=1)


@pytest.fixture(autouse=True)
def _factor(office):
    cast.make_second_factor(office)


def credentials(**changes):
    known = {"email": "office@meadowlark.example", "password": cast.PASSWORD}
    return {**known, "code": cast.code_at(), **changes}


# By token


def test_the_office_signs_in_and_uses_the_token(anonymous_api, office):
    answer = anonymous_api.post(SIGN_IN, credentials(label="Laptop"))

    assert answer.status_code == 201
    issued = answer.json()
    assert issued["staff"] == {
        "id": str(office.pk),
        "email": office.email,
        "name": "Office",
        "role": "office",
        "is_active": True,
        "second_factor_at": "2026-06-10T15:00:00Z",
    } | {name: issued["staff"][name] for name in ("revision",) if name in issued["staff"]}
    assert issued["expires_at"] == "2026-09-08T15:00:00Z"
    client = APIClient()
    client.credentials(HTTP_AUTHORIZATION=f"Bearer {issued['token']}")
    assert client.get(f"{API}/customers").status_code == 200
    assert AccessToken.objects.get().label == "Laptop"


@pytest.mark.parametrize(
    "wrong",
    [
        {"password": "not-the-password"},
        {"email": "nobody@meadowlark.example"},
        {"code": "000000"},
        {"code": ""},
    ],
)
def test_a_failed_sign_in_does_not_say_what_was_wrong(anonymous_api, office, wrong):
    answer = anonymous_api.post(SIGN_IN, credentials(**wrong))

    assert answer.status_code == 401
    problem = answer.json()
    assert (problem["type"], problem["code"]) == ("/problems/not-signed-in", "sign-in")
    assert problem["detail"] == "E-mail, password or code is wrong."
    assert "errors" not in problem
    assert not AccessToken.objects.exists()


@pytest.mark.parametrize(
    ("wrong", "pointer"),
    [
        ({"email": "x"}, "/email"),
        ({"password": ""}, "/password"),
        ({"password": "x" * 201}, "/password"),
        ({"code": "x" * 41}, "/code"),
        ({"label": "x" * 101}, "/label"),
        ({"role": "office"}, "/role"),
    ],
)
def test_a_misshapen_sign_in_is_named(anonymous_api, office, wrong, pointer):
    assert pointers(anonymous_api.post(SIGN_IN, credentials(**wrong))) == [pointer]


def test_spaces_belong_to_a_password(anonymous_api, office):
    padded = credentials(password=f" {cast.PASSWORD} ")

    assert anonymous_api.post(SIGN_IN, padded).status_code == 401


@pytest.mark.parametrize("email", ["office@meadowlark.example", "nobody@meadowlark.example"])
def test_a_locked_account_is_answered_alike_whether_it_exists(anonymous_api, settings, email):
    settings.SIGN_IN_FAILURES_OF_ACCOUNT = 3

    answers = [anonymous_api.post(SIGN_IN, credentials(email=email, code="0")) for _ in range(4)]

    assert [answer.status_code for answer in answers] == [401, 401, 401, 429]
    assert answers[-1]["Retry-After"] == str(15 * 60)
    problem = answers[-1].json()
    assert (problem["type"], problem["code"]) == ("/problems/too-many", "locked-out")
    assert "errors" not in problem


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


# By browser session


@pytest.fixture
def browser():
    return APIClient(enforce_csrf_checks=True)


def sign_in(browser, **changes):
    token = browser.get(SESSION).json()["csrf_token"]
    return browser.post(SESSION, credentials(**changes), headers={"X-CSRFToken": token})


def test_a_browser_signs_in_with_a_cookie_and_reads_and_writes(browser, office):
    assert browser.get(SESSION).json()["staff"] is None

    answer = sign_in(browser)

    assert answer.status_code == 201
    assert answer.json()["staff"]["id"] == str(office.pk)
    assert Event.objects.get().act == "signed in"
    assert browser.get(SESSION).json()["staff"]["id"] == str(office.pk)
    assert browser.get(f"{API}/customers").status_code == 200
    token = {"X-CSRFToken": answer.json()["csrf_token"]}
    made = browser.post(f"{API}/customers", {"name": "Ingrid Holm"}, headers=token)
    assert made.status_code == 201


def test_the_cookie_is_for_the_server_alone(browser):
    sign_in(browser)

    cookie = browser.cookies[configured.SESSION_COOKIE_NAME]
    assert cookie["httponly"]
    assert (cookie["samesite"], cookie["path"], cookie["domain"]) == ("Lax", "/", "")
    assert cookie["max-age"] == configured.SESSION_MOST_HOURS * 3600


@pytest.mark.parametrize("verb", ["post", "put", "patch", "delete"])
def test_no_write_of_a_session_goes_through_without_its_csrf_token(browser, verb):
    sign_in(browser)

    for headers in ({}, {"X-CSRFToken": "x" * 64}):
        answer = getattr(browser, verb)(f"{API}/customers", {"name": "x"}, headers=headers)
        assert answer.status_code == 403
        assert answer.json()["type"] == "/problems/not-allowed"


def test_another_site_cannot_sign_a_browser_in(browser):
    assert browser.post(SESSION, credentials()).status_code == 403
    assert browser.get(SESSION).json()["staff"] is None


@pytest.mark.parametrize("wrong", [{"code": "000000"}, {"password": "x"}, {"email": "a@b.example"}])
def test_a_session_needs_password_and_factor(browser, wrong):
    assert sign_in(browser, **wrong).status_code == 401
    assert browser.get(f"{API}/customers").status_code == 401


def test_the_id_of_a_session_is_new_after_the_sign_in(browser):
    browser.get("/admin/login/")
    browser.cookies[configured.SESSION_COOKIE_NAME] = "a-known-one"

    sign_in(browser)

    assert browser.cookies[configured.SESSION_COOKIE_NAME].value != "a-known-one"


def test_signing_out_ends_the_session(browser):
    token = {"X-CSRFToken": sign_in(browser).json()["csrf_token"]}
    stolen = browser.cookies[configured.SESSION_COOKIE_NAME].value

    assert browser.post(f"{API}/sign-out", headers=token).status_code == 204
    browser.cookies[configured.SESSION_COOKIE_NAME] = stolen
    assert browser.get(f"{API}/customers").status_code == 401


# Setting up a second factor


def test_a_new_phone_is_set_up_with_a_code_of_the_old(anonymous_api, office, office_api):
    assert anonymous_api.post(FACTOR, credentials(code="")).status_code == 401

    begun = anonymous_api.post(FACTOR, credentials())
    assert begun.status_code == 201
    secret = b32decode(begun.json()["secret"]).hex()
    sent = {"ticket": begun.json()["ticket"], "code": cast.code_at(key=secret), "label": "New"}
    enrolled = anonymous_api.post(CONFIRM, sent)

    assert enrolled.status_code == 201
    assert len(enrolled.json()["recovery_codes"]) == 10
    assert AccessToken.objects.get(revoked_at=None).label == "New"
    assert office_api.get(f"{API}/company").status_code == 401
    with time_machine.travel(cast.NOW + MINUTE, tick=False):
        at = cast.NOW + MINUTE
        new = credentials(code=cast.code_at(at, secret))
        assert anonymous_api.post(SIGN_IN, new).status_code == 201
        assert anonymous_api.post(SIGN_IN, credentials(code=cast.code_at(at))).status_code == 401


def test_the_picture_is_svg_without_styles_or_scripts(anonymous_api):
    begun = anonymous_api.post(FACTOR, credentials()).json()

    picture = ElementTree.fromstring(begun["qr_svg"])  # noqa: S314 - our own
    assert picture.tag == "{http://www.w3.org/2000/svg}svg"
    assert {element.tag.rpartition("}")[2] for element in picture.iter()} == {"svg", "path"}
    assert "style" not in begun["qr_svg"]


def test_recovery_codes_are_renewed_by_whoever_has_the_factor(office_api, anonymous_api):
    assert office_api.post(CODES, {"code": "000000"}).status_code == 401
    with time_machine.travel(cast.NOW + MINUTE, tick=False):
        answer = office_api.post(CODES, {"code": cast.code_at(cast.NOW + MINUTE)})
        assert answer.status_code == 201
        code = answer.json()["recovery_codes"][0]
        assert anonymous_api.post(SIGN_IN, credentials(code=code)).status_code == 201
        assert anonymous_api.post(SIGN_IN, credentials(code=code)).status_code == 401
