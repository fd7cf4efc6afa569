"""How many requests a caller may send, and how he is told to wait."""

from __future__ import annotations

import datetime as dt
import os
from concurrent.futures import ThreadPoolExecutor

import pytest
import time_machine
from django.core.cache import cache, caches
from redis import ConnectionError as RedisAwayError
from rest_framework.settings import api_settings
from rest_framework.test import APIClient

from properties.http import throttling
from properties.http.throttling import _count, parse_rate
from tests import cast
from tests.conftest import client_of
from tests.properties.api.bodies import API

COMPANY, SIGN_IN = f"{API}/company", f"{API}/sign-in"
BAD = {"email": "nobody@meadowlark.example", "password": "x"}


@pytest.fixture
def rates(monkeypatch):
    cache.clear()
    rates = {}
    monkeypatch.setattr(api_settings, "DEFAULT_THROTTLE_RATES", rates)
    yield rates
    cache.clear()


def statuses(times, act):
    return [act().status_code for _ in range(times)]


def test_reads_and_writes_are_counted_apart(rates, office_api):
    rates |= {"read": "3/min", "write": "2/min"}

    assert statuses(4, lambda: office_api.get(COMPANY)) == [200, 200, 200, 429]
    assert statuses(3, lambda: office_api.post(f"{API}/customers", {})) == [400, 400, 429]


def test_the_answer_says_when_to_come_again(rates, office_api):
    rates["read"] = "1/min"
    office_api.get(COMPANY)

    with time_machine.travel(cast.NOW + dt.timedelta(seconds=12.5), tick=False):
        answer = office_api.get(COMPANY)
    assert (answer.status_code, answer["Retry-After"]) == (429, "48")
    assert answer.json()["type"] == "/problems/too-many"
    with time_machine.travel(cast.NOW + dt.timedelta(seconds=60), tick=False):
        assert office_api.get(COMPANY).status_code == 200


def test_each_token_and_each_person_has_a_count_of_his_own(rates, office, office_api, technician):
    rates["read"] = "1/min"

    assert statuses(2, lambda: office_api.get(COMPANY)) == [200, 429]
    assert client_of(office).get(COMPANY).status_code == 200
    assert client_of(technician).get(COMPANY).status_code == 200


def test_strangers_are_counted_by_address(rates, company):
    rates["anonymous"] = "2/min"
    client = APIClient()

    assert statuses(3, lambda: client.get(f"{API}/docs")) == [200, 200, 429]
    assert client.get(f"{API}/docs", REMOTE_ADDR="198.51.100.9").status_code == 200


def test_guessing_tokens_is_slowed_down(rates, company, office_api):
    rates["anonymous"] = "2/min"
    client = APIClient(headers={"Authorization": "Bearer guessed"})

    assert statuses(3, lambda: client.get(COMPANY)) == [401, 401, 429]
    assert client.get(COMPANY)["Retry-After"]
    assert office_api.get(COMPANY).status_code == 200


def test_whoever_invents_addresses_before_ours_gains_nothing(rates, company, monkeypatch):
    rates["sign-in"] = "2/min"
    for proxies, header in ((0, "{}"), (1, "{}, 203.0.113.5")):
        monkeypatch.setattr(api_settings, "NUM_PROXIES", proxies)
        cache.clear()
        forged = (header.format(f"198.51.100.{number}") for number in range(3))
        answers = [APIClient().post(SIGN_IN, BAD, HTTP_X_FORWARDED_FOR=each) for each in forged]
        assert [answer.status_code for answer in answers] == [401, 401, 429]


def test_without_a_rate_nothing_is_counted(rates, office_api):
    rates["read"] = ""

    assert statuses(5, lambda: office_api.get(COMPANY)) == [200] * 5


def test_a_cache_that_is_away_stops_nobody(rates, office_api, monkeypatch, caplog):
    def away(*args, **kwargs):
        raise RedisAwayError("connection refused")

    rates["read"] = "1/min"
    monkeypatch.setattr(throttling.cache, "add", away)

    assert statuses(3, lambda: office_api.get(COMPANY)) == [200] * 3
    assert "not counted" in caplog.text


def test_a_count_that_was_thrown_out_begins_anew(monkeypatch):
    monkeypatch.setattr(throttling.cache, "add", lambda *args, **kwargs: False)

    assert _count("gone", 60) == 1


@pytest.mark.parametrize(
    ("rate", "parsed"), [("10/min", (10, 60)), ("5/s", (5, 1)), ("9/hour", (9, 3600))]
)
def test_a_rate_is_a_count_and_a_time(rate, parsed):
    assert parse_rate(rate) == parsed


@pytest.mark.services
def test_requests_at_once_are_counted_one_by_one_in_redis(monkeypatch, settings):
    settings.CACHES = {
        "default": {
            "BACKEND": "django.core.cache.backends.redis.RedisCache",
            "LOCATION": os.environ["REDIS_URL"],
            "KEY_PREFIX": "test-throttling",
        }
    }
    shared = caches["default"]
    monkeypatch.setattr(throttling, "cache", shared)
    shared.delete("k")
    with ThreadPoolExecutor(8) as pool:
        counts = sorted(pool.map(lambda _: _count("k", 60), range(200)))
    shared.delete("k")

    assert counts == list(range(1, 201))
