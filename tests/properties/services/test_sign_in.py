"""Signing in: nothing is told to those who fail, nothing secret is kept of those who pass."""

from __future__ import annotations

import datetime as dt
import hashlib

import pytest
import time_machine

from properties.domain.errors import InvalidInputError, RefusedError
from properties.models import AccessToken, Event, TokenKind
from properties.selectors.tokens import valid_token
from properties.services import sign_in
from properties.services.sign_in import (
    SecondFactorNeededError,
    SignInFailedError,
    hash_secret,
    issue_device_token,
    issue_program_token,
    issue_token,
    office_sign_in,
    revoke_token,
    sign_out_everywhere,
)
from tests import cast

NOW = cast.NOW


@pytest.fixture(autouse=True)
def _factor(office):
    cast.make_second_factor(office)


def attempt(email="office@meadowlark.example", password=cast.PASSWORD, code=None, now=NOW):
    code = cast.code_at(now) if code is None else code
    return office_sign_in(
        email=email, password=password, code=code, label="Laptop", address="192.0.2.7", now=now
    )


@pytest.mark.parametrize(
    "email",
    ["office@meadowlark.example", " OFFICE@Meadowlark.example ", "Office@meadowlark.example"],
)
def test_the_office_signs_in_with_its_password(office, email):
    token, secret = attempt(email)

    assert token.staff == office
    assert token.label == "Laptop"
    assert valid_token(hash_secret(secret), NOW) == token


def test_only_the_hash_of_the_secret_is_kept(office, settings):
    settings.ACCESS_TOKEN_DAYS = 10
    _, secret = attempt()

    stored = AccessToken.objects.get()
    assert len(secret) >= 43  # 256 bits in base 64
    assert stored.secret_hash == hashlib.sha256(secret.encode()).hexdigest()
    assert (stored.created_at, stored.expires_at) == (NOW, NOW + dt.timedelta(days=10))
    assert secret not in str(AccessToken.objects.values())
    assert secret not in str(list(Event.objects.values()))
    assert stored.secret_hash not in str(list(Event.objects.values()))


def test_two_sign_ins_have_two_secrets(office):
    first = attempt()[1]

    with time_machine.travel(NOW + dt.timedelta(minutes=1), tick=False):
        assert attempt(now=NOW + dt.timedelta(minutes=1))[1] != first


def test_whoever_fails_is_not_told_why(office, technician):
    told = set()
    for email, password, code in [
        ("nobody@meadowlark.example", cast.PASSWORD, None),
        (office.email, "a-wrong-password", None),
        (office.email, "", None),
        (office.email, cast.PASSWORD, "000000"),
        (office.email, cast.PASSWORD, ""),
        (office.email, cast.PASSWORD, "no-such-recovery-code"),
        (technician.email, "", None),
        (technician.email, "!", None),
    ]:
        with pytest.raises(SignInFailedError) as refused:
            attempt(email, password, code)
        told.add((refused.value.detail, refused.value.code, refused.value.field))

    assert told == {("E-mail, password or code is wrong.", "sign-in", "")}
    assert not AccessToken.objects.exists()


def test_a_leaver_does_not_sign_in(office):
    office.is_active = False
    office.save()

    with pytest.raises(SignInFailedError):
        attempt()


def test_a_technician_does_not_sign_in_even_with_a_password_set_by_hand(technician):
    technician.set_password(cast.PASSWORD)
    technician.save()

    with pytest.raises(SignInFailedError):
        attempt(technician.email)


def test_an_unknown_address_costs_a_hash_too(office, monkeypatch):
    hashed = []
    monkeypatch.setattr(sign_in, "make_password", hashed.append)

    with pytest.raises(SignInFailedError):
        attempt("nobody@meadowlark.example", "given")

    assert hashed == ["given"]


def test_issuing_and_revoking_are_remembered(technician, office):
    token, _ = issue_token(technician, label="Phone", actor=office, now=NOW)
    revoke_token(token, actor=office, now=NOW)

    events = Event.objects.filter(subject_id=token.pk).order_by("id")
    assert sorted(event.act for event in events) == ["token issued", "token revoked"]
    issued = events.get(act="token issued")
    assert (issued.actor, issued.after) == (office, {"label": "Phone"})


def test_a_leaver_is_given_no_token(technician, office):
    technician.is_active = False

    with pytest.raises(RefusedError) as refused:
        issue_token(technician, label="Phone", actor=office, now=NOW)

    assert refused.value.code == "inactive-staff"
    assert not AccessToken.objects.exists()


def test_revoking_twice_is_free_and_keeps_the_first_moment(office):
    token, secret = attempt()
    revoke_token(token, actor=office, now=NOW)
    revoke_token(token, actor=office, now=NOW + dt.timedelta(hours=1))

    assert AccessToken.objects.get().revoked_at == NOW
    assert Event.objects.filter(act="token revoked").count() == 1
    assert valid_token(hash_secret(secret), NOW) is None


# The second factor


def test_a_code_is_good_once(office):
    attempt()

    with pytest.raises(SignInFailedError):
        attempt()
    assert AccessToken.objects.count() == 1


def test_whoever_has_no_second_factor_yet_is_told_where_to_get_one(office, settings):
    office.second_factor_at = None
    office.save()
    settings.PUBLIC_URL = "https://water.example.org"

    with pytest.raises(SecondFactorNeededError) as refused:
        attempt(code="")
    with pytest.raises(SignInFailedError):
        attempt(password="a-wrong-password", code="")

    assert "https://water.example.org/second-factor" in refused.value.remedy
    assert not AccessToken.objects.exists()


def test_where_it_is_optional_it_is_asked_only_of_those_who_have_it(office, settings):
    settings.OFFICE_SECOND_FACTOR = "optional"

    with pytest.raises(SignInFailedError):
        attempt(code="")
    office.second_factor_at = None
    office.save()
    assert attempt(code="")[0].staff == office


def test_a_token_is_worthless_while_its_owner_has_no_second_factor(office, settings):
    _, secret = attempt()
    office.second_factor_at = None
    office.save()

    assert valid_token(hash_secret(secret), NOW) is None
    settings.OFFICE_SECOND_FACTOR = "optional"
    assert valid_token(hash_secret(secret), NOW) is not None


# Tokens of programs and devices


def test_a_program_gets_a_token_of_its_own_that_was_never_used(office):
    token, secret = issue_program_token(office, label="Bookkeeping", days=30, now=NOW)

    assert (token.kind, token.last_used_at) == (TokenKind.PROGRAM, None)
    assert token.expires_at == NOW + dt.timedelta(days=30)
    assert valid_token(hash_secret(secret), NOW) == token


@pytest.mark.parametrize("days", [-1, 0, 366, 10**9])
def test_a_programs_token_lasts_a_year_at_most(office, days):
    with pytest.raises(InvalidInputError, match="1 to 365 days") as refused:
        issue_program_token(office, label="x", days=days, now=NOW)

    assert refused.value.field == "days"
    assert not AccessToken.objects.exists()


def test_an_office_user_is_given_no_token_by_others(office, technician):
    other = cast.make_office("other@meadowlark.example")

    with pytest.raises(RefusedError, match="Only technicians"):
        issue_device_token(other, label="x", actor=office, now=NOW)
    token, _ = issue_device_token(technician, label="Phone", actor=office, now=NOW)
    assert token.kind == TokenKind.DEVICE


def test_signing_out_everywhere_ends_ones_own_tokens_and_sessions_and_no_others(office):
    other = cast.make_office("other@meadowlark.example")
    mine, theirs = (
        issue_token(each, label="x", actor=each, now=NOW)[1] for each in (office, other)
    )
    session = office.get_session_auth_hash()

    assert sign_out_everywhere(office, actor=office, now=NOW) == 1

    assert valid_token(hash_secret(mine), NOW) is None
    assert valid_token(hash_secret(theirs), NOW) is not None
    assert office.get_session_auth_hash() != session
    assert Event.objects.get(act="signed out everywhere").after["tokens"] == 1
