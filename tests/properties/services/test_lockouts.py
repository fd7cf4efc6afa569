"""The door shuts after too many failures, for anybody, and tells nobody who has an account."""

from __future__ import annotations

import datetime as dt
import threading
from contextlib import suppress

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from properties.models import Event, SignInCount
from properties.services.lockouts import (
    LockedOutError,
    count_attempt,
    take_back_attempt,
    unlock,
)
from tests import cast

NOW = cast.NOW
MINUTE = dt.timedelta(minutes=1)
EMAIL = "office@meadowlark.example"


@pytest.fixture(autouse=True)
def _limits(settings):
    settings.SIGN_IN_FAILURES_OF_ACCOUNT = 3
    settings.SIGN_IN_FAILURES_OF_ADDRESS = 5
    settings.SIGN_IN_LOCK_MIN = 20


def attempt(email=EMAIL, address="192.0.2.1", now=NOW):
    count_attempt(email=email, address=address, now=now)


def fill(email=EMAIL, address="192.0.2.1", count=3):
    for _ in range(count):
        attempt(email, address)


@pytest.mark.parametrize("email", [EMAIL, "nobody@meadowlark.example"])
def test_an_account_is_locked_after_so_many_whether_it_exists_or_not(office, email):
    fill(email)

    with pytest.raises(LockedOutError) as locked:
        attempt(email, "198.51.100.9")  # from anywhere

    assert locked.value.retry_after_s == 20 * 60
    assert str(locked.value) == str(LockedOutError(wait_s=1))
    attempt("other@meadowlark.example")


def test_known_and_unknown_accounts_cost_the_same_queries(office):

    costs = {}
    for email in (EMAIL, "nobody@meadowlark.example"):
        costs[email] = []
        for number in range(5):
            address = f"192.0.2.{len(costs)}{number}"
            with CaptureQueriesContext(connection) as queries, suppress(LockedOutError):
                attempt(email, address)
            costs[email].append(len(queries))

    assert costs[EMAIL] == costs["nobody@meadowlark.example"]


def test_an_address_is_locked_whatever_accounts_it_tries(company):
    for number in range(5):
        attempt(f"a{number}@b.example")

    with pytest.raises(LockedOutError):
        attempt("another@b.example")
    attempt("another@b.example", address="198.51.100.9")


def test_the_door_opens_by_time(company):
    fill()
    for minutes, is_open in ((0, False), (19, False), (20, True)):
        now = NOW + minutes * MINUTE
        if is_open:
            attempt(now=now)
        else:
            with pytest.raises(LockedOutError) as locked:
                attempt(now=now)
            assert locked.value.retry_after_s == (20 - minutes) * 60


def test_failures_long_ago_do_not_count(company):
    fill(count=2)

    for _ in range(3):
        attempt(now=NOW + 15 * MINUTE)
    with pytest.raises(LockedOutError):
        attempt(now=NOW + 15 * MINUTE)


def test_whoever_gets_in_takes_his_attempts_back(company):
    for _ in range(10):
        attempt()
        take_back_attempt(email=EMAIL, address="192.0.2.1")

    attempt()


def test_getting_in_does_not_wash_the_address_of_other_failures(company):
    """Or a guesser with an account of his own would sign in now and then and go on for ever."""
    for number in range(4):
        attempt(f"a{number}@b.example")
    attempt(EMAIL)
    take_back_attempt(email=EMAIL, address="192.0.2.1")
    attempt("a5@b.example")

    with pytest.raises(LockedOutError):
        attempt("a6@b.example")


def test_another_office_user_opens_the_door(office):
    other = cast.make_office("other@meadowlark.example")
    fill()
    with pytest.raises(LockedOutError):
        attempt()

    assert unlock(office, actor=other, now=NOW)
    assert not unlock(office, actor=other, now=NOW)

    attempt(address="198.51.100.9")
    event = Event.objects.get(act="sign-in unlocked")
    assert (event.actor, event.subject_id) == (other, office.pk)


def test_a_lock_is_remembered_once_and_without_what_was_typed(office):
    fill()
    for number in range(3):
        with pytest.raises(LockedOutError):
            attempt(address=f"198.51.100.{number}")

    event = Event.objects.get(act="sign-in locked")
    assert (event.actor, event.subject_id) == (None, office.pk)
    assert event.after == {"counted_by": "account", "failures": 4}


def test_no_account_and_no_address_can_be_read_off_the_counts(company):
    attempt("nobody@meadowlark.example", "192.0.2.77")

    stored = str(list(SignInCount.objects.values()))
    assert "nobody" not in stored
    assert "192.0.2.77" not in stored


def test_old_counts_are_swept_away(company):
    attempt()

    attempt("later@b.example", "198.51.100.9", now=NOW + dt.timedelta(days=2))

    assert SignInCount.objects.count() == 2


@pytest.mark.services
@pytest.mark.django_db(transaction=True)
def test_attempts_at_once_are_counted_one_by_one(settings):
    settings.SIGN_IN_FAILURES_OF_ACCOUNT = 4
    settings.SIGN_IN_FAILURES_OF_ADDRESS = 100
    outcomes, gate = [], threading.Barrier(8)

    def guess():
        gate.wait()
        try:
            attempt()
            outcomes.append("let through")
        except LockedOutError:
            outcomes.append("locked")
        connection.close()

    threads = [threading.Thread(target=guess) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert outcomes.count("let through") == 4
    assert outcomes.count("locked") == 4
