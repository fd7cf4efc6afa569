from __future__ import annotations

import datetime as dt

import pytest
from django.db import connection

from properties.models import Job
from properties.services.jobs import ask_for, run_job
from scheduling.models import (
    ForecastDay,
    ForecastDocument,
    ForecastFetch,
    WeatherDay,
)
from scheduling.services import forecasts
from scheduling.services.forecasts import fetch_forecast
from scheduling.services.job_kinds import FORECAST
from tests import cast
from tests.scheduling.forecast_files import arrays, grid, stored_forecasts
from tests.scheduling.services.forecast_server import answer, serving

NOW = cast.NOW
HOUR = dt.timedelta(hours=1)
DAY = dt.timedelta(days=1)

pytestmark = pytest.mark.django_db


def issued(moment: dt.datetime, **extremes: float) -> bytes:
    document = grid()
    document["properties"]["updateTime"] = moment.isoformat()
    for layer, value in extremes.items():
        for entry in document["properties"][layer]["values"]:
            entry["value"] = value
    return answer(document)


def test_a_document_is_kept_as_it_came_with_its_days(place, fetch):
    outcome = fetch(answer(arrays()))

    assert (outcome.days, outcome.code, outcome.problem) == (3, "", "")
    document = ForecastDocument.objects.get()
    assert (document.issued_at, document.retrieved_at) == (NOW, NOW)
    assert '"\\u00b0C"' in document.body
    days = list(place.forecast_days.order_by("date"))
    assert [day.date for day in days] == [dt.date(2026, 6, 10 + index) for index in range(3)]
    assert (days[1].tmin_c, days[1].tmax_c, days[1].rain_mm) == (16.0, 31.5, 12.5)
    assert {day.document_id for day in days} == {document.pk}
    fetched = ForecastFetch.objects.get()
    assert (fetched.succeeded_at, fetched.failures, fetched.problem) == (NOW, 0, "")


def test_the_same_document_twice_is_one_row(fetch):
    fetch(answer(grid()), style="grid_durations")
    first = stored_forecasts()
    fetch(answer(grid()), style="grid_durations", now=NOW + HOUR)

    assert len(stored_forecasts()[1]) == 1
    assert [day | {"id": 0} for day in stored_forecasts()[0]] == [
        day | {"id": 0} for day in first[0]
    ]
    document = ForecastDocument.objects.get()
    assert (document.issued_at, document.retrieved_at) == (NOW - HOUR, NOW + HOUR)


def test_a_newer_document_speaks_for_its_days_an_older_one_no_more(place, fetch):
    fetch(issued(NOW - HOUR, maxTemperature=30), style="grid_durations")
    fetch(issued(NOW, maxTemperature=33), style="grid_durations", now=NOW + HOUR)
    late = fetch(
        issued(NOW - 2 * HOUR, maxTemperature=20), style="grid_durations", now=NOW + 2 * HOUR
    )

    assert late.days == 0
    assert {day.tmax_c for day in place.forecast_days.all()} == {33.0}
    assert ForecastDocument.objects.count() == 3


def test_an_older_document_still_speaks_for_days_that_have_none(place, fetch):
    fetch(issued(NOW), style="grid_durations")
    place.forecast_days.get(date="2026-06-11").delete()

    late = fetch(issued(NOW - HOUR, maxTemperature=20), style="grid_durations", now=NOW + HOUR)
    assert late.days == 1
    assert place.forecast_days.get(date="2026-06-11").tmax_c == 20.0


def test_today_stays_with_the_document_that_knew_all_of_it(place, fetch):
    fetch(answer(grid()), style="grid_durations")
    document = grid()
    document["properties"]["updateTime"] = NOW.isoformat()
    rain = document["properties"]["quantitativePrecipitation"]["values"]
    del rain[0]
    rain[0]["validTime"] = "2026-06-10T15:00:00+00:00/PT9H"

    outcome = fetch(answer(document), style="grid_durations", now=NOW + HOUR)
    assert outcome.days == 1
    assert place.forecast_days.get(date="2026-06-10").rain_mm == pytest.approx(11.0)


def test_a_day_to_come_goes_by_the_newer_document_even_where_that_says_less(place, fetch):
    fetch(answer(arrays()))
    document = arrays()
    document["daily"]["precipitation_sum"] = [0.0, 0.0, None, None]

    fetch(answer(document), now=NOW + HOUR)
    assert place.forecast_days.get(date="2026-06-11").rain_mm is None


def test_what_was_fetched_before_midnight_and_stored_after_it_leaves_the_past_alone(
    place, settings
):
    before_midnight = dt.datetime(2026, 6, 11, 4, 59, tzinfo=dt.UTC)
    with serving(answer(arrays())) as server:
        settings.FORECAST_SOURCES = [
            {"style": "daily_arrays", "address": f"http://127.0.0.1:{server.port}/"}
        ]
        got = forecasts.download(place, now=before_midnight)

    assert [day.date.day for day in got.reading.days] == [10, 11, 12]
    assert forecasts.store_download(place, got, now=before_midnight + HOUR).days == 2
    assert not place.forecast_days.filter(date="2026-06-10").exists()


def test_a_day_that_is_past_by_the_companys_clock_is_left_alone(place, fetch, company):
    fetch(answer(arrays()))
    # 04:30 UTC on the 11th is still the 10th in Chicago; an hour later it is not.
    document = arrays()
    document["daily"]["temperature_2m_max"] = [40.0] * 4
    document["daily"]["temperature_2m_min"] = [20.0] * 4
    midnight = dt.datetime(2026, 6, 11, 4, 30, tzinfo=dt.UTC)

    fetch(answer(document), now=midnight + HOUR)
    assert place.forecast_days.get(date="2026-06-10").tmax_c == 30.0
    assert place.forecast_days.get(date="2026-06-11").tmax_c == 40.0
    assert not place.forecast_days.filter(date="2026-06-09").exists()

    place.forecast_days.all().delete()
    fetch(answer(document), now=midnight)
    assert place.forecast_days.filter(date="2026-06-10").exists()


def test_an_observation_is_never_touched(place, fetch):
    observed = WeatherDay.objects.create(
        station=place, date=cast.TODAY, tmin_c=1, tmax_c=2, rain_mm=3, et0_mm=4,
        et0_method="hargreaves",
    )  # fmt: skip
    before = WeatherDay.objects.filter(pk=observed.pk).values().get()

    fetch(answer(arrays()))
    assert WeatherDay.objects.values().get() == before


def test_values_at_the_edges_of_belief_are_stored(place, fetch):
    document = arrays()
    document["daily_units"] |= {
        "wind_speed_10m_mean": "m/s", "relative_humidity_2m_mean": "%",
    }  # fmt: skip
    document["daily"] |= {
        "temperature_2m_min": [-90] * 4, "temperature_2m_max": [60, 60, 60, -90],
        "precipitation_sum": [2000] * 4, "wind_speed_10m_mean": [75] * 4,
        "relative_humidity_2m_mean": [100, 0, 100, 100], "shortwave_radiation_sum": [50] * 4,
        "et0_fao_evapotranspiration": [40] * 4, "precipitation_probability_max": [100] * 4,
    }  # fmt: skip

    assert fetch(answer(document)).days == 3
    for day in place.forecast_days.all():
        day.full_clean()


def test_old_documents_go_unless_a_day_goes_back_to_them(place, fetch):
    fetch(issued(NOW - 2 * HOUR), style="grid_durations")
    fetch(issued(NOW - HOUR), style="grid_durations")  # takes all the days over
    fetch(answer(arrays()), now=NOW)  # and so does this, the 12th with it

    later = arrays()
    later["daily"]["time"] = ["2026-06-24", "2026-06-25", "2026-06-26", "2026-06-27"]
    fetch(answer(later), now=NOW + 14 * DAY)
    assert ForecastDocument.objects.count() == 4

    fetch(answer(later), now=NOW + 14 * DAY + HOUR)
    kept = {day.document_id for day in ForecastDay.objects.all()}
    assert set(ForecastDocument.objects.values_list("pk", flat=True)) == kept
    assert len(kept) == 2


def test_days_long_past_go_with_their_documents(place, fetch):
    fetch(answer(arrays()))
    later = arrays()
    later["daily"]["time"] = ["2026-07-24", "2026-07-25", "2026-07-26", "2026-07-27"]
    fetch(answer(later), now=NOW + 40 * DAY)

    assert {day.date.month for day in ForecastDay.objects.all()} == {7}
    assert ForecastDocument.objects.count() == 1


def test_the_job_stores_the_forecast_and_tells_a_failure(place, settings):
    for told, code in ((answer(arrays()), ""), (answer(b"<"), "forecast-not-json")):
        with serving(told) as server:
            settings.FORECAST_SOURCES = [
                {"style": "daily_arrays", "address": f"http://127.0.0.1:{server.port}/"}
            ]
            job = ask_for(FORECAST, place.pk, asked_by=None, now=NOW)
            run_job(job.pk, now=NOW)

        job = Job.objects.get(pk=job.pk)
        assert (job.state, job.result["code"]) == ("done", code)

    assert ForecastFetch.objects.get().failures == 1
    assert ForecastDay.objects.count() == 3


def test_the_job_twice_is_the_job_once(place, settings):
    with serving(answer(arrays())) as server:
        settings.FORECAST_SOURCES = [
            {"style": "daily_arrays", "address": f"http://127.0.0.1:{server.port}/"}
        ]
        got = forecasts.download_of(place.pk, NOW)
    forecasts.store_download_of(place.pk, NOW, got)
    once = stored_forecasts()
    forecasts.store_download_of(place.pk, NOW, got)

    assert [day | {"id": 0} for day in stored_forecasts()[0]] == [
        day | {"id": 0} for day in once[0]
    ]
    assert stored_forecasts()[1] == once[1]


@pytest.mark.django_db(transaction=True)
def test_the_job_asks_the_source_outside_of_any_transaction(place, settings, monkeypatch):
    seen = []
    ask = forecasts.fetch_document

    def watched(*args, **kwargs):
        seen.append(connection.in_atomic_block)
        return ask(*args, **kwargs)

    monkeypatch.setattr(forecasts, "fetch_document", watched)
    with serving(answer(arrays())) as server:
        settings.FORECAST_SOURCES = [
            {"style": "daily_arrays", "address": f"http://127.0.0.1:{server.port}/"}
        ]
        job = run_job(ask_for(FORECAST, place.pk, asked_by=None, now=NOW).pk, now=NOW)

    assert (seen, job.result["days"]) == ([False], 3)


def test_a_store_that_breaks_leaves_nothing_half_done(fetch, monkeypatch):
    def break_down(*args):
        raise RuntimeError

    monkeypatch.setattr(forecasts, "_prune", break_down)
    with pytest.raises(RuntimeError):
        fetch(answer(arrays()))

    assert stored_forecasts() == ([], [])
    assert not ForecastFetch.objects.exists()


def test_we_say_who_we_are_and_the_contact_cannot_add_headers(place, settings):
    settings.FORECAST_CONTACT = "office@meadowlark.example\r\nX: yé"
    with serving(answer(arrays())) as server:
        settings.FORECAST_SOURCES = [
            {"style": "daily_arrays", "address": f"http://127.0.0.1:{server.port}/"}
        ]
        fetch_forecast(place, now=NOW)

    assert "User-Agent: zone-keeping (office@meadowlark.exampleX: y)\r\n" in server.requests[0]
