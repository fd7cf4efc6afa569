"""Bearer tokens: who they let in, and what becomes of all others."""

from __future__ import annotations

import datetime as dt

import pytest
import time_machine
from django.conf import settings
from django.db import OperationalError
from rest_framework.test import APIClient

from properties.http import authentication
from properties.services.sign_in import issue_token, revoke_token
from tests import cast

COMPANY = "/api/v1/company"


@pytest.fixture
def issued(office):
    return issue_token(office, label="test", actor=office, now=cast.NOW)


def get_with(header: str):
    return APIClient().get(COMPANY, HTTP_AUTHORIZATION=header)


@pytest.mark.parametrize("scheme", ["Bearer", "bearer", "BEARER"])
def test_the_secret_of_a_valid_token_signs_in(issued, scheme):
    assert get_with(f"{scheme} {issued[1]}").status_code == 200


def test_no_header_is_told_how_to_sign_in(company):
    answer = APIClient().get(COMPANY)

    assert answer.status_code == 401
    assert answer.headers["WWW-Authenticate"] == "Bearer"
    assert answer.headers["Content-Type"] == "application/problem+json"


def test_a_revoked_token_is_at_once_worthless(issued, office):
    token, secret = issued
    revoke_token(token, actor=office, now=cast.NOW)

    assert get_with(f"Bearer {secret}").status_code == 401


def test_a_token_ends_at_its_moment(issued):
    token, secret = issued
    last = token.expires_at - dt.timedelta(microseconds=1)

    with time_machine.travel(last, tick=False):
        assert get_with(f"Bearer {secret}").status_code == 200
    with time_machine.travel(token.expires_at, tick=False):
        assert get_with(f"Bearer {secret}").status_code == 401


def test_a_token_lasts_as_long_as_the_settings_say(issued):
    assert issued[0].expires_at - cast.NOW == dt.timedelta(days=settings.ACCESS_TOKEN_DAYS)


def test_the_token_of_a_leaver_is_worthless(issued, office):
    office.is_active = False
    office.save()

    assert get_with(f"Bearer {issued[1]}").status_code == 401


def test_neither_the_hash_nor_the_id_of_a_token_signs_in(issued):
    token, _ = issued

    assert get_with(f"Bearer {token.secret_hash}").status_code == 401
    assert get_with(f"Bearer {token.pk}").status_code == 401


@pytest.mark.parametrize(
    "header",
    [
        "",
        "Bearer",
        "Bearer ",
        "Bearer \xff\xfe\x80",
        "Bearer \x00",
        "Bearer " + "x" * 5000,
        "Bearer a b c",
        "Basic b2ZmaWNlOnB3",
        "Token abc",
        "\xa0\xff",
    ],
)
def test_rubbish_signs_nobody_in_and_breaks_nothing(issued, header):
    answer = get_with(header)

    assert answer.status_code == 401
    assert answer.headers["WWW-Authenticate"] == "Bearer"


def test_a_session_without_the_second_factor_does_not_open_the_api(office):
    client = APIClient()
    client.force_login(office)

    assert client.get(COMPANY).status_code == 401


def test_a_reader_does_not_fail_because_his_use_cannot_be_noted(issued, monkeypatch, caplog):
    def busy(*args, **kwargs):
        raise OperationalError("database is locked")

    monkeypatch.setattr(authentication, "note_token_use", busy)
    with time_machine.travel(cast.NOW + dt.timedelta(hours=1), tick=False):
        assert get_with(f"Bearer {issued[1]}").status_code == 200
    assert "was not noted" in caplog.text
