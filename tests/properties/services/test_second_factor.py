"""The second factor: shown once, in force with its first code, and gone when it is taken away."""

from __future__ import annotations

import datetime as dt
import re
import threading
from base64 import b32decode
from urllib.parse import parse_qs, unquote, urlsplit

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django_otp.plugins.otp_totp.models import TOTPDevice

from properties.domain.errors import InvalidInputError, RefusedError
from properties.models import AccessToken, Event, RecoveryCode, StaffMember
from properties.services.second_factor import (
    begin_enrolment,
    confirm_enrolment,
    passes,
    renew_recovery_codes,
    reset_second_factor,
)
from properties.services.sign_in import issue_token
from tests import cast

NOW = cast.NOW
MINUTE = dt.timedelta(minutes=1)


@pytest.fixture
def newcomer(office):
    return cast.make_office("new@meadowlark.example", name="New", second_factor_at=None)


def code_of(begun, at=NOW):
    padded = begun.secret + "=" * (-len(begun.secret) % 8)
    return cast.code_at(at, b32decode(padded).hex())


def enrol(member, at=NOW):
    begun = begin_enrolment(member)
    return confirm_enrolment(ticket=begun.ticket, code=code_of(begun, at), now=at)[1]


def test_codes_are_those_of_the_standard(office):
    """RFC 6238, appendix B: the secret 12345678901234567890 at 59 s gives 94287082 in 8 digits."""
    cast.make_second_factor(office)

    with time_machine.travel(dt.datetime(1970, 1, 1, 0, 0, 59, tzinfo=dt.UTC), tick=False):
        assert passes(office, "287082", now=NOW)


def test_the_secret_is_told_as_text_and_as_an_address_for_authenticators(newcomer):
    begun = begin_enrolment(newcomer)

    parts = urlsplit(begun.uri)
    facts = {name: values[0] for name, values in parse_qs(parts.query).items()}
    assert (parts.scheme, parts.netloc) == ("otpauth", "totp")
    assert unquote(parts.path) == "/Meadowlark:new@meadowlark.example"
    assert facts == {
        "secret": begun.secret, "issuer": "Meadowlark", "algorithm": "SHA1", "digits": "6",
        "period": "30",
    }  # fmt: skip
    assert len(begun.secret) == 32  # 160 bits in base 32


def test_a_secret_is_not_in_force_before_its_first_code(newcomer):
    begun = begin_enrolment(newcomer)

    newcomer.refresh_from_db()
    assert newcomer.second_factor_at is None
    assert not passes(newcomer, code_of(begun), now=NOW)


def test_the_first_code_puts_it_in_force_and_shows_ten_recovery_codes(newcomer):
    codes = enrol(newcomer)

    newcomer.refresh_from_db()
    assert newcomer.second_factor_at == NOW
    assert len(set(codes)) == 10
    assert all(re.fullmatch(r"([2-9a-hjkmnp-z]{4}-){3}[2-9a-hjkmnp-z]{4}", code) for code in codes)
    event = Event.objects.get(act="second factor set up")
    assert (event.actor, event.subject_id) == (newcomer, newcomer.pk)


def test_neither_secret_nor_codes_stand_in_the_memory(newcomer):
    begun = begin_enrolment(newcomer)
    _, codes = confirm_enrolment(ticket=begun.ticket, code=code_of(begun), now=NOW)

    remembered = str(list(Event.objects.values()))
    stored = str(list(RecoveryCode.objects.values()))
    for secret in (begun.secret, *codes):
        assert secret not in remembered + stored
        assert secret.replace("-", "") not in stored


def test_the_code_that_confirmed_signs_nobody_in(newcomer):
    begun = begin_enrolment(newcomer)
    confirm_enrolment(ticket=begun.ticket, code=code_of(begun), now=NOW)

    assert not passes(newcomer, code_of(begun), now=NOW)


def test_a_wrong_first_code_is_refused_and_counted(newcomer):
    begun = begin_enrolment(newcomer)

    with pytest.raises(InvalidInputError) as refused:
        confirm_enrolment(ticket=begun.ticket, code="000000", now=NOW)

    assert (refused.value.field, refused.value.code) == ("code", "wrong-code")
    assert TOTPDevice.objects.get(user=newcomer).throttling_failure_count == 1
    with pytest.raises(InvalidInputError):  # at once again: not even the right one
        confirm_enrolment(ticket=begun.ticket, code=code_of(begun), now=NOW)
    newcomer.refresh_from_db()
    assert newcomer.second_factor_at is None


@pytest.mark.parametrize("ticket", ["", "x", "WzFd:1uX:forged"])
def test_a_forged_ticket_is_refused(newcomer, ticket):
    begin_enrolment(newcomer)

    with pytest.raises(InvalidInputError) as refused:
        confirm_enrolment(ticket=ticket, code="000000", now=NOW)

    assert refused.value.code == "ticket-over"


def test_a_ticket_ends_when_it_is_used_replaced_or_old(newcomer):
    used = begin_enrolment(newcomer)
    confirm_enrolment(ticket=used.ticket, code=code_of(used), now=NOW)
    replaced = begin_enrolment(newcomer)
    newest = begin_enrolment(newcomer)
    later = NOW + dt.timedelta(minutes=11)

    for begun, at in ((used, NOW + MINUTE), (replaced, NOW + MINUTE), (newest, later)):
        with time_machine.travel(at, tick=False), pytest.raises(InvalidInputError) as refused:
            confirm_enrolment(ticket=begun.ticket, code=code_of(begun, at), now=at)
        assert refused.value.code == "ticket-over"


def test_a_new_factor_ends_the_old_one_and_all_that_is_signed_in(newcomer):
    old_codes = enrol(newcomer)
    issue_token(newcomer, label="x", actor=newcomer, now=NOW)
    before = newcomer.get_session_auth_hash()

    at = NOW + MINUTE
    with time_machine.travel(at, tick=False):
        enrol(newcomer, at)

    assert TOTPDevice.objects.filter(user=newcomer).count() == 1
    assert not AccessToken.objects.filter(staff=newcomer, revoked_at=None).exists()
    assert StaffMember.objects.get(pk=newcomer.pk).get_session_auth_hash() != before
    assert not passes(newcomer, old_codes[0], now=at)


# Codes


@pytest.mark.parametrize("written", [str, str.upper, lambda code: f" {code.replace('-', ' ')} "])
def test_a_recovery_code_stands_once_for_the_factor_however_it_is_typed(newcomer, written):
    codes = enrol(newcomer)

    assert passes(newcomer, written(codes[0]), now=NOW)
    assert not passes(newcomer, written(codes[0]), now=NOW)
    assert passes(newcomer, codes[1], now=NOW)
    lefts = {event.after["left"] for event in Event.objects.filter(act="recovery code used")}
    assert lefts == {9, 8}


def test_a_code_of_somebody_else_is_no_code(office, newcomer):
    codes = enrol(newcomer)
    cast.make_second_factor(office)

    assert not passes(office, codes[0], now=NOW)
    assert not passes(newcomer, cast.code_at(NOW), now=NOW)
    assert not passes(None, codes[0], now=NOW)
    assert not passes(None, cast.code_at(NOW), now=NOW)


def test_nobody_costs_the_same_queries_as_somebody_with_a_wrong_code(office):
    cast.make_second_factor(office)

    costs = []
    for who in (office, None):
        with CaptureQueriesContext(connection) as queries:
            assert not passes(who, "wrong-recovery-code", now=NOW)
        costs.append(len(queries))

    assert costs[0] == costs[1]


@pytest.mark.services
@pytest.mark.django_db(transaction=True)
def test_of_two_who_send_one_code_at_once_one_gets_in():
    cast.make_company()
    office = cast.make_office()
    cast.make_second_factor(office)
    outcomes, gate = [], threading.Barrier(2)

    def send():
        gate.wait()
        outcomes.append(passes(office, cast.code_at(NOW), now=NOW))
        connection.close()

    threads = [threading.Thread(target=send) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert sorted(outcomes) == [False, True]


def test_recovery_codes_are_renewed_all_together(newcomer):
    old = enrol(newcomer)
    newcomer.refresh_from_db()

    new = renew_recovery_codes(newcomer, actor=newcomer, now=NOW)

    assert not set(old) & set(new)
    assert not passes(newcomer, old[3], now=NOW)
    assert passes(newcomer, new[3], now=NOW)


def test_without_a_factor_there_is_nothing_to_recover(newcomer):
    with pytest.raises(RefusedError, match="no second factor"):
        renew_recovery_codes(newcomer, actor=newcomer, now=NOW)


# Taking it away


def test_another_office_user_resets_a_lost_factor(office, newcomer):
    codes = enrol(newcomer)
    token, _ = issue_token(newcomer, label="x", actor=newcomer, now=NOW)

    reset_second_factor(newcomer, actor=office, now=NOW)

    newcomer.refresh_from_db()
    token.refresh_from_db()
    assert newcomer.second_factor_at is None
    assert token.revoked_at == NOW
    assert not passes(newcomer, codes[0], now=NOW)
    event = Event.objects.get(act="second factor reset")
    assert (event.actor, event.subject_id) == (office, newcomer.pk)


def test_nobody_resets_his_own(office):
    cast.make_second_factor(office)

    with pytest.raises(RefusedError, match="his own"):
        reset_second_factor(office, actor=office, now=NOW)

    office.refresh_from_db()
    assert office.second_factor_at == NOW
    assert TOTPDevice.objects.filter(user=office).exists()
