"""Questions to past weather: stored with a job, answered once."""

from __future__ import annotations

import datetime as dt

import pytest

from audits.models import CatchTest
from properties.domain.errors import InvalidInputError, RefusedError
from properties.models import Event, JobState, Zone
from properties.services.jobs import due_job_ids, run_job
from scheduling.models import Replay, WeatherDay
from scheduling.services import replays
from scheduling.services.replays import gather_answer, store_answer
from tests import cast
from tests.problems import row_counts
from tests.scheduling.replay_rows import make_answer, make_question, make_setting

LATER = cast.NOW + dt.timedelta(days=1)
IDEAL_FIRST = [{"name": "i", "base": "ideal", "changes": []}]


@pytest.fixture
def tested(visit, zone, station):
    cast.make_catch_test(visit, zone)
    make_setting(zone.controller, {zone: 20})
    return zone


def test_the_question_and_its_job_are_stored(garden, tested, office):
    row, job = make_question(garden, office)

    assert (row.answer, row.answered_at) == (None, None)
    assert (job.kind, job.subject_id, job.state) == ("replay", row.pk, JobState.WAITING)
    assert [each["name"] for each in row.asked["variants"]] == ["found", "ideal"]
    assert Event.objects.get(subject_id=row.pk).act == "asked"


def test_the_found_litres_of_a_year_are_waterings_times_minutes_times_rate_times_area(
    garden, tested, office
):
    # Arithmetic: 2019 has 52 Mondays, 52 Wednesdays and 52 Fridays and begins on a Tuesday; 156
    # waterings x 20 min x 40 mm/h = 156 x 13.33 mm, on 200 m2.
    answer = make_answer(garden, office)

    assert answer["weather"]["years"] == [2016, 2017, 2018, 2019, 2020]
    found = answer["variants"][0]["zones"][0]
    assert found["years"]["watering_days"][3] == 156
    assert found["years"]["litres"][3] == pytest.approx(156 * 20 / 60 * 40 * 200, abs=0.1)
    (months,) = [each for each in found["months"] if each["year"] == answer["picked_years"]["dry"]]
    assert len(months["gross_mm"]) == 12
    per_watering = [
        litres / count
        for litres, count in zip(months["litres"], months["watering_days"], strict=True)
    ]
    assert per_watering == pytest.approx([20 / 60 * 40 * 200] * 12, abs=0.1)


def test_the_ideal_saves_water_and_says_how_much_from_year_to_year(garden, tested, office):
    garden.water_price_per_m3 = 2
    garden.save()

    answer = make_answer(garden, office)

    found, ideal = answer["variants"]
    assert found["difference"] is None
    told = ideal["difference"]
    mean = [sum(each["zones"][0]["years"]["litres"]) / 5 for each in (found, ideal)]
    assert told["litres"] == pytest.approx(mean[1] - mean[0], abs=1)
    assert told["litres_low"] <= told["litres"] <= told["litres_high"] < 0
    assert told["percent"] == pytest.approx(100 * (mean[1] - mean[0]) / mean[0], abs=0.1)
    assert told["money"] == pytest.approx(told["litres"] / 1000 * 2, abs=0.01)
    assert "less water in a mean year" in told["sentence"]
    assert ideal["zones"][0]["years"]["adequacy"][2] > 0.95


def test_what_cannot_be_replayed_is_said_per_zone_and_the_rest_is_replayed(
    garden, controller, tested, office
):
    bare = cast.make_zone(controller, number=2, name="Bare bed")
    loose = cast.make_zone(controller, number=3, name="Tap")
    Zone.objects.filter(pk=loose.pk).update(controller=None)
    cast.make_heads(loose)
    unmeasured = cast.make_zone(controller, number=4, name="Side")
    cast.make_heads(unmeasured)
    Zone.objects.filter(pk=tested.pk).update(area_m2=None)

    found, ideal = make_answer(garden, office)["variants"]

    problems = [each["problem"] and each["problem"]["code"] for each in found["zones"]]
    assert problems == [None, "no-rate", "no-setting", None]
    assert [each["problem"] is None for each in ideal["zones"]] == [True, False, True, True]
    assert found["zones"][0]["years"]["litres"] is None
    assert "catch test" in found["zones"][1]["problem"]["remedy"]
    assert str(bare.pk) == found["zones"][1]["zone"]
    # Only the fourth zone has litres both ways: no program runs it.
    assert ideal["difference"]["zones"] == 1
    assert ideal["difference"]["percent"] is None


def test_a_year_with_holes_is_left_out_and_few_years_are_said(garden, tested, office, station):
    WeatherDay.objects.filter(station=station, date__year=2018, date__month=7).delete()
    WeatherDay.objects.filter(station=station, date__year=2020, date__month=2, date__day=3).delete()

    answer = make_answer(garden, office)

    assert answer["weather"]["years"] == [2016, 2017, 2019, 2020]
    assert answer["weather"]["years_left_out"] == [{"year": 2018, "days_missing": 31}]
    assert answer["weather"]["days_usual"] == 32
    assert [each["code"] for each in answer["notes"]] == ["few-years", "years-left-out"]
    assert len(answer["variants"][0]["zones"][0]["years"]["gross_mm"]) == 4


def test_years_without_weather_are_refused_in_the_answer(garden, tested, office):
    answer = make_answer(garden, office, first_year=1990, last_year=1995)

    assert answer["refusal"]["code"] == "no-weather-years"
    assert "Import the days" in answer["refusal"]["remedy"]


def test_a_property_of_which_no_zone_has_a_rate_is_refused_with_the_cure(
    garden, zone, station, office
):
    answer = make_answer(garden, office)

    assert answer["refusal"]["code"] == "nothing-to-replay"
    assert "catch test" in answer["refusal"]["remedy"]


def test_a_working_sensor_counts_and_is_said(garden, tested, office):
    dry = make_answer(garden, office)
    tested.controller.rain_sensor = "working"
    tested.controller.save()

    wet = make_answer(garden, office)

    one, other = (each["variants"][0]["zones"][0]["years"]["litres"] for each in (dry, wet))
    assert all(skipping < running for running, skipping in zip(one, other, strict=True))
    assert "sensor-assumed" in [each["code"] for each in wet["notes"]]


def test_frozen_months_are_off(garden, tested, office, station):
    WeatherDay.objects.filter(station=station, date__month__in=[1, 12]).update(tmin_c=-8.0)

    answer = make_answer(garden, office)

    assert answer["weather"]["resting_months"] == [1, 12]
    months = answer["variants"][0]["zones"][0]["months"][0]
    assert (months["gross_mm"][0], months["gross_mm"][11]) == (0, 0)
    assert "winter-off" in [each["code"] for each in answer["notes"]]


def test_mending_takes_the_uniformity_that_is_given_or_that_the_diagnosis_expects(
    garden, visit, tested, office
):
    # Three of ten heads lean, so the three driest of twelve cups go and the nine left are even: no
    # more than "excellent" of sprays, 0.75 (published_uniformity).
    CatchTest.objects.update(du_lq=0.5)
    cast.make_heads(tested)
    tested.findings.create(
        visit=visit, fault="leaning", severity="major", count=3, seen_at=cast.NOW, **cast.ROW
    )
    variants = [
        {"name": "found", "base": "found", "changes": []},
        {"name": "given", "base": "found", "changes": [{"kind": "mend_faults", "du_lq": 0.9}]},
        {"name": "expected", "base": "found", "changes": [{"kind": "mend_faults"}]},
        {
            "name": "as long", "base": "found",
            "changes": [{"kind": "mend_faults", "shorten_runs": False}],
        },
    ]  # fmt: skip

    _, *others = make_answer(garden, office, variants=variants)["variants"]

    # Multipliers: 1 / 0.7 at DU 0.5, 1 / 0.94 at 0.9, 1 / 0.85 at 0.75.
    percents = [each["difference"]["percent"] for each in others]
    assert percents == pytest.approx([100 * (0.7 / 0.94 - 1), 100 * (0.7 / 0.85 - 1), 0], abs=0.1)
    assert others[1]["zones"][0]["net_fraction"] == 0.85


def test_a_repair_of_which_nothing_can_be_expected_is_said(garden, tested, office):
    variants = [{"name": "mended", "base": "found", "changes": [{"kind": "mend_faults"}]}]

    answer = make_answer(garden, office, variants=variants)

    assert answer["refusal"]["code"] == "nothing-to-replay"
    assert "is not known" in answer["refusal"]["detail"]
    assert "uniformity to expect" in answer["refusal"]["remedy"]


def test_running_the_job_twice_is_as_once(garden, tested, office):
    row, job = make_question(garden, office)
    run_job(job.pk, now=cast.NOW)
    row.refresh_from_db()
    before = (row.answer, row.answered_at, row.revision, Event.objects.count())

    assert gather_answer(row.pk, LATER) is None
    assert store_answer(row.pk, LATER, None) == {"state": "answered"}
    assert store_answer(row.pk, LATER, {"refusal": {}}) == {"state": "answered"}

    row.refresh_from_db()
    assert (row.answer, row.answered_at, row.revision, Event.objects.count()) == before


def test_the_event_of_the_answer_does_not_repeat_it(garden, tested, office):
    row, job = make_question(garden, office)
    run_job(job.pk, now=cast.NOW)

    (event,) = Event.objects.filter(subject_id=row.pk, act="answered")
    assert event.after["state"] == "answered"
    assert "answer" not in event.after


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("breaks_at", ["replay_answer", "record_event"])
def test_killed_in_the_middle_nothing_is_written_and_another_answers(
    garden, tested, office, monkeypatch, breaks_at
):
    row, job = make_question(garden, office)
    before = row_counts()

    def die(*args, **kwargs):
        raise KeyboardInterrupt

    monkeypatch.setattr(replays, breaks_at, die)
    with pytest.raises(KeyboardInterrupt):
        run_job(job.pk, now=cast.NOW)
    row.refresh_from_db()
    assert (row.answer, row.answered_at, row_counts()) == (None, None, before)

    monkeypatch.undo()
    (due,) = due_job_ids(now=LATER)
    run_job(due, now=LATER)
    row.refresh_from_db()
    assert row.answered_at == LATER


def test_nothing_is_stored_without_a_station_or_a_zone(garden, tested, office, station):
    Zone.objects.update(is_active=False)
    with pytest.raises(RefusedError, match="no active zone"):
        make_question(garden, office)
    Zone.objects.update(is_active=True)
    WeatherDay.objects.all().delete()
    before = row_counts()

    with pytest.raises(RefusedError, match="No weather station"):
        make_question(garden, office)

    assert row_counts() == before
    assert not Replay.objects.exists()


@pytest.mark.parametrize(
    ("question", "field", "words"),
    [
        ({"first_year": 2016}, "last_year", "neither for the last five"),
        ({"last_year": 2016}, "first_year", "Only one end"),
        ({"first_year": 2019, "last_year": 2018}, "last_year", "no years"),
        ({"first_year": 1960, "last_year": 2018}, "last_year", "30 years in all"),
        ({"first_year": 2025, "last_year": 2027}, "last_year", "no weather yet"),
        ({"variants": [*IDEAL_FIRST, *IDEAL_FIRST]}, "variants", "same name"),
        ({"variants": [{"name": "p", "base": "program", "changes": []}]}, "variants", "Variant p"),
        (
            {"variants": [{"name": "d", "base": "found", "changes": [{"kind": "days"}]}]},
            "variants", "Variant d: weekdays",
        ),
        (
            {"variants": [{
                "name": "s", "base": "program", "changes": [], "seasonal_percent": [400.0] * 12,
                "programs": [{"weekdays": [1], "starts": ["05:00"], "runs": []}],
            }]},
            "variants", "Variant s: seasonal_percent",
        ),
        (
            {"variants": [{
                "name": "z", "base": "ideal",
                "changes": [{"kind": "cut_area", "cut_percent": 20.0, "zones": [
                    "019eb20c-2180-7000-b948-6029bb675bdc"
                ]}],
            }]},
            "variants", "no active zone 019eb20c",
        ),
    ],
)  # fmt: skip
def test_a_question_that_cannot_be_is_refused_by_name(garden, zone, office, question, field, words):
    with pytest.raises(InvalidInputError, match=words) as refusal:
        make_question(garden, office, **question)

    assert refusal.value.field == field
    assert not Replay.objects.exists()
