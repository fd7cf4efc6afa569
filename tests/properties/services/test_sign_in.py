"""Signing in: nothing is told to those who fail, nothing secret is kept of those who pass."""

from __future__ import annotations

import datetime as dt
import hashlib

import pytest

from properties.domain.errors import RefusedError
from properties.models import AccessToken, Event
from properties.selectors.tokens import valid_token
from properties.services import sign_in
from properties.services.sign_in import (
    SignInFailedError,
    hash_secret,
    issue_token,
    office_sign_in,
    revoke_token,
)
from tests import cast

NOW = cast.NOW


def attempt(email="office@meadowlark.example", password=cast.PASSWORD):
    return office_sign_in(email=email, password=password, label="Laptop", now=NOW)


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
    assert attempt()[1] != attempt()[1]


def test_whoever_fails_is_not_told_why(office, technician):
    told = set()
    for email, password in [
        ("nobody@meadowlark.example", cast.PASSWORD),
        (office.email, "a-wrong-password"),
        (office.email, ""),
        (technician.email, ""),
        (technician.email, "!"),
    ]:
        with pytest.raises(SignInFailedError) as refused:
            attempt(email, password)
        told.add((refused.value.detail, refused.value.code, refused.value.field))

    assert told == {("E-mail or password is wrong.", "sign-in", "")}
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
