from __future__ import annotations

import datetime as dt
import gzip

import pytest

from scheduling.models import ForecastFetch
from tests import cast
from tests.problems import row_counts
from tests.scheduling.forecast_files import arrays, grid, stored_forecasts
from tests.scheduling.services.forecast_server import answer, hanging_up, silent

NOW = cast.NOW
HOUR = dt.timedelta(hours=1)

pytestmark = pytest.mark.django_db


BAD = {
    "html": (answer(b"<html>", kind="text/html"), "forecast-content-type"),
    "html that claims to be JSON": (answer(b"<html>"), "forecast-not-json"),
    "error": (answer(status=500), "forecast-http-status"),
    "busy": (answer(status=429, Retry_After="3600"), "forecast-busy"),
    "redirect": (answer(status=302, Location="file:///etc/passwd"), "forecast-redirect"),
    "hangs up": (hanging_up(answer(arrays())[:400]), "forecast-broken-off"),
    "silent": (silent, "forecast-timeout"),
    "too large": (answer(b"", length=50_000_000), "forecast-too-large"),
    "bomb": (
        answer(gzip.compress(b"[" * 5_000_000), Content_Encoding="gzip"), "forecast-too-large",
    ),
    "no UTF-8": (answer(b'{"a": "\xff"}'), "forecast-encoding"),
    "deep": (answer(b"[" * 100_000), "forecast-not-json"),
    "NaN": (answer(b'{"daily": NaN}'), "forecast-not-json"),
    "length too short": (answer(arrays(), length=50), "forecast-not-json"),
    "other style": (answer(grid()), "forecast-shape"),
    "nothing in it": (answer(b"{}"), "forecast-shape"),
    "other clock": (answer(arrays() | {"timezone": "GMT"}), "forecast-zone"),
    "lying": (
        answer(arrays() | {"daily_units": {"temperature_2m_max": "mm"}}), "forecast-empty",
    ),
}  # fmt: skip


@pytest.mark.parametrize("told", BAD)
def test_a_bad_answer_is_named_and_the_last_good_days_stay(fetch, told):
    fetch(answer(arrays()))
    before, counts = stored_forecasts(), row_counts()

    outcome = fetch(BAD[told][0], now=NOW + HOUR)

    assert (outcome.days, outcome.code) == (0, BAD[told][1])
    assert (stored_forecasts(), row_counts()) == (before, counts)
    fetched = ForecastFetch.objects.get()
    assert (fetched.tried_at, fetched.succeeded_at) == (NOW + HOUR, NOW)
    assert fetched.failures == 1
    assert fetched.problem == outcome.problem
    assert fetched.problem
    assert "s3cret" not in fetched.problem


def test_failures_are_counted_until_one_goes_well(fetch):
    for tried in range(3):
        fetch(answer(b"<"), now=NOW + tried * HOUR)
    fetched = ForecastFetch.objects.get()
    assert (fetched.failures, fetched.succeeded_at) == (3, None)

    fetch(answer(arrays()), now=NOW + 3 * HOUR)
    fetched.refresh_from_db()
    assert (fetched.failures, fetched.problem) == (0, "")


def test_what_was_left_out_of_a_good_document_is_told(fetch):
    document = arrays()
    document["daily"]["precipitation_sum"][2] = -4

    outcome = fetch(answer(document))
    assert outcome.is_good
    assert ForecastFetch.objects.get().problem.startswith(
        "Left out (1): precipitation_sum 2026-06-11: -4"
    )


def test_a_long_list_of_problems_fits_its_field(fetch):
    document = arrays()
    document["daily_units"] = dict.fromkeys(document["daily_units"], "\x00" * 300)
    document["daily_units"]["precipitation_sum"] = "mm"

    fetch(answer(document))
    problem = ForecastFetch.objects.get().problem
    assert len(problem) == 500
    assert "\x00" not in problem
