"""Sources that are wrong, hostile or not there: named, and what was stored stays."""

from __future__ import annotations

import datetime as dt
import gzip

import pytest

from scheduling.models import ObservationFetch, WeatherDay
from tests import cast
from tests.problems import row_counts
from tests.scheduling.observed_files import (
    YESTERDAY,
    days_before,
    lines,
    past_arrays,
    stored_days,
    told,
)
from tests.scheduling.services.forecast_server import answer, hanging_up, serving, silent

pytestmark = pytest.mark.django_db
DAY = dt.timedelta(days=1)
HOUR = dt.timedelta(hours=1)
PAGE = b"<!doctype html><html><body>Sign in</body></html>"

BAD = {
    "another station": (told(lines(YESTERDAY, code="ZZOTHER0001")), "observation-station"),
    "days to come": (told(lines(*(cast.TODAY + n * DAY for n in (2, 30)))), "observation-none"),
    "days of another year": (told(lines(dt.date(1999, 1, 1))), "observation-none"),
    "absurd values": (
        told(lines(YESTERDAY, tmin=-9000, tmax=9999, rain=999_999)), "observation-none",
    ),
    "ten megabytes": (told(b"", length=10_000_000), "observation-too-large"),
    "ten megabytes unsaid": (
        told(lines(YESTERDAY) * 120_000, length=-1), "observation-too-large",
    ),
    "bomb": (
        told(gzip.compress(b"0" * 50_000_000, 9), Content_Encoding="gzip"),
        "observation-too-large",
    ),
    "bomb in a file": (
        told(gzip.compress(b"0" * 50_000_000, 9), kind="application/gzip"), "unpacks-too-large",
    ),
    "a page": (told(PAGE, kind="text/html"), "observation-content-type"),
    "a page that claims to be text": (told(PAGE), "observation-none"),
    "nothing": (told(b""), "empty-file"),
    "no text": (told(b"\x00\xff" * 500), "not-text"),
    "one line without end": (told(b"7" * 1_500_000), "observation-none"),
    "not there": (told(b"", status=404), "observation-http-status"),
    "busy": (told(b"", status=429, Retry_After="3600"), "observation-busy"),
    "silent": (silent, "observation-timeout"),
    "hangs up": (hanging_up(told(lines(YESTERDAY))[:-30]), "observation-broken-off"),
    "JSON": (answer(past_arrays(YESTERDAY)), "observation-content-type"),
}  # fmt: skip


@pytest.mark.parametrize("name", BAD)
def test_a_bad_answer_is_named_and_what_was_stored_stays(observe, name):
    observe(told(lines(*days_before(3))))
    before, counts = stored_days(), row_counts()

    outcome = observe(BAD[name][0], now=cast.NOW + HOUR)

    assert (outcome.code, outcome.added, outcome.changed) == (BAD[name][1], 0, 0)
    assert (stored_days(), row_counts()) == (before, counts)
    fetch = ObservationFetch.objects.get()
    assert (fetch.tried_at, fetch.succeeded_at) == (cast.NOW + HOUR, cast.NOW)
    assert (fetch.failures, fetch.problem) == (1, outcome.problem)
    assert fetch.problem
    assert "s3cret" not in fetch.problem


def test_a_redirect_to_this_machine_is_not_followed(observe):
    with serving(told(lines(YESTERDAY))) as inside:
        place = f"http://127.0.0.1:{inside.port}/secret"
        outcome = observe(told(b"", status=302, Location=place))

        assert inside.requests == []
    assert outcome.code == "observation-redirect"
    assert not WeatherDay.objects.exists()


def test_days_to_come_and_absurd_values_are_left_out_of_a_good_answer_and_told(observe):
    body = lines(YESTERDAY) + lines(cast.TODAY + DAY) + lines(YESTERDAY - DAY, tmax=9000)

    outcome = observe(told(body))

    assert (outcome.is_good, outcome.added) == (True, 2)
    assert outcome.problem.startswith("Left out (4): 2026-06-11 lies after 2026-06-10")
    assert WeatherDay.objects.get(date=YESTERDAY - DAY).tmax_c is None


def test_lines_of_other_stations_are_left_alone(observe):
    cast.make_station(code="ZZOTHER0001")

    assert observe(told(lines(YESTERDAY, code="ZZOTHER0001") + lines(YESTERDAY))).added == 1
    assert WeatherDay.objects.get().station.code == "ZZTEST00001"


def test_a_table_whose_temperatures_betray_its_units_stores_nothing(observe):
    rows = "".join(
        f"ZZTEST00001,Field,{date},0.00,{170 + n},55\n" for n, date in enumerate(days_before(5))
    )
    body = b"STATION,NAME,DATE,PRCP,TMAX,TMIN\n" + rows.encode()

    outcome = observe(told(body), style="daily-summaries", units="metric")

    assert outcome.code == "doubtful-units"
    assert stored_days() == []


def test_failures_are_counted_until_one_goes_well(observe):
    for tried in range(3):
        observe(told(PAGE), now=cast.NOW + tried * HOUR)
    fetch = ObservationFetch.objects.get()
    assert (fetch.failures, fetch.succeeded_at) == (3, None)

    observe(told(lines(YESTERDAY)), now=cast.NOW + 3 * HOUR)
    fetch.refresh_from_db()
    assert (fetch.failures, fetch.problem) == (0, "")


ANALYSES = {
    "another place": (
        answer(past_arrays(YESTERDAY) | {"latitude": 52.5, "longitude": 13.4}),
        "observation-place",
    ),
    "no place at all": (answer(past_arrays(YESTERDAY) | {"latitude": 900}), "out-of-range"),
    "days to come alone": (answer(past_arrays(cast.TODAY, cast.TODAY + DAY)), "observation-empty"),
    "another clock": (answer(past_arrays(YESTERDAY) | {"timezone": "GMT"}), "observation-zone"),
    "arrays of unequal length": (
        answer(past_arrays(YESTERDAY, precipitation_sum=[1.0, 2.0])), "observation-lengths",
    ),
    "a page": (answer(PAGE, kind="text/html"), "observation-content-type"),
    "a page that claims to be JSON": (answer(PAGE), "observation-not-json"),
    "a list": (answer(b"[]"), "observation-shape"),
    "NaN": (answer(b'{"daily": NaN}'), "observation-not-json"),
    "deep": (answer(b"[" * 100_000), "observation-not-json"),
    "absurd values": (
        answer(past_arrays(YESTERDAY, temperature_2m_max=[1e9], temperature_2m_min=["x"],
                           precipitation_sum=[-5])),
        "observation-empty",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", ANALYSES)
def test_a_bad_analysis_is_named_and_what_was_stored_stays(observe, name):
    observe(answer(past_arrays(*days_before(3))), style="daily_arrays")
    before = stored_days()

    outcome = observe(ANALYSES[name][0], style="daily_arrays", now=cast.NOW + HOUR)

    assert outcome.code == ANALYSES[name][1]
    assert stored_days() == before
    assert ObservationFetch.objects.get().failures == 1
