"""Replays and savings over the API, by each kind of person."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from properties.models import Job
from properties.services.jobs import run_job
from scheduling.models import Replay
from tests import cast
from tests.problems import pointers, row_counts
from tests.scheduling.program_rows import make_fitted
from tests.scheduling.replay_rows import make_answer, make_question, make_setting
from tests.writes import keyed

PROGRAM = {
    "weekdays": [1, 4], "starts": ["04:30", "05:30"], "runs": [{"zone": "", "run_min": 10}],
}  # fmt: skip


@pytest.fixture
def ready(tested, zone):
    make_setting(zone.controller, {zone: 20})
    return zone


def address(property_):
    return f"/api/v1/properties/{property_.pk}/replays"


def answered(api, property_, content):
    """Ask, let the job run, and return the answer as the office reads it."""
    asked = api.post(address(property_), content, format="json", headers=keyed())
    assert asked.status_code == 202, asked.json()
    run_job(Job.objects.get(pk=asked.json()["job"]["id"]).pk, now=cast.NOW)
    return api.get(f"/api/v1/replays/{asked.json()['replay']}?units=metric").json()


def test_the_office_asks_and_reads_the_answer(office_api, garden, ready):
    found = answered(office_api, garden, {})

    assert (found["state"], found["property"]) == ("answered", str(garden.pk))
    zone = found["answer"]["variants"][0]["zones"][0]
    assert zone["years"]["gross"]["unit"] == "mm"
    assert zone["years"]["litres"]["unit"] == "L"
    assert len(zone["years"]["adequacy"]) == 5
    assert zone["area"] == {"value": 200.0, "unit": "m2"}
    assert [each["year"] for each in zone["months"]]


def test_depths_come_in_the_units_of_the_request(office_api, garden, ready):
    row = answered(office_api, garden, {})

    us = office_api.get(f"/api/v1/replays/{row['id']}?units=us").json()

    one, other = (each["answer"]["variants"][0]["zones"][0]["years"]["gross"] for each in (row, us))
    assert other["unit"] == "in"
    assert other["values"][0] == pytest.approx(one["values"][0] / 25.4, rel=1e-5)


def test_what_is_fitted_is_replayed_and_told_in_the_units_of_the_request(office_api, garden, ready):
    make_fitted(ready.controller)
    row = answered(office_api, garden, {})

    us = office_api.get(f"/api/v1/replays/{row['id']}?units=us").json()

    told, other = (each["answer"]["variants"][2] for each in (row, us))
    assert (told["name"], told["base"]) == ("fitted", "fitted")
    assert told["notes"][0]["code"] == "no-rules"
    litres = told["summary"]["dry_year"]["litres"]
    assert litres["unit"] == "L"
    # 1 gal is 3.785411784 L by definition.
    assert other["summary"]["dry_year"]["litres"] == {
        "value": pytest.approx(litres["value"] / 3.785411784, rel=1e-5), "unit": "gal",
    }  # fmt: skip
    difference = told["difference"]
    assert difference["interval"]["low"]["unit"] == "L"
    assert difference["parts"]["more"] is None
    assert difference["parts"]["less"]["zones"] == [str(ready.pk)]
    assert difference["parts"]["less"]["litres"] == difference["litres"]


def test_every_change_is_replayed_beside_what_runs_now(office_api, garden, ready):
    zones = [str(ready.pk)]
    changes = {
        "minutes": {"kind": "minutes", "percent": 50},
        "days": {"kind": "days", "interval_days": 7},
        "nozzles": {"kind": "swap_nozzles", "zones": zones, "rate": {"value": 20, "unit": "mm/h"}},
        "area": {"kind": "cut_area", "cut_percent": 25},
        "sensor": {"kind": "rain_sensor", "rain": {"value": 0.25, "unit": "in"}, "days": 2},
        "winter": {"kind": "seasonal_percent", "seasonal_percent": [0] * 6 + [100] * 6},
    }
    variants = [{"name": "now"}] + [
        {"name": name, "changes": [change]} for name, change in changes.items()
    ]

    found = answered(office_api, garden, {"variants": variants})

    assert found["variants"] == variants
    told = {each["name"]: each["difference"] for each in found["answer"]["variants"]}
    assert told.pop("now") is None
    percents = {name: each["percent"] for name, each in told.items()}
    # Arithmetic: half the minutes, one of 7/3 waterings, half the rate, three quarters of the area.
    assert percents["minutes"] == -50
    assert percents["days"] == pytest.approx(-100 * (1 - 7 / 3 / 7), abs=0.5)
    assert percents["nozzles"] == -50
    assert percents["area"] == -25
    assert -40 < percents["sensor"] < 0
    assert percents["winter"] == pytest.approx(-50, abs=1)
    assert told["area"]["stress_days"] == 0
    assert told["minutes"]["stress_days"] > 0


def test_a_given_program_is_replayed(office_api, garden, ready):
    program = {**PROGRAM, "runs": [{"zone": str(ready.pk), "run_min": 10}]}
    variant = {"name": "fitted", "base": "program", "programs": [program]}

    found = answered(
        office_api, garden, {"variants": [variant], "first_year": 2019, "last_year": 2019}
    )

    zone = found["answer"]["variants"][0]["zones"][0]
    # 2019 has 53 Tuesdays and 52 Fridays: 105 x 2 x 10 min at 40 mm/h on 200 m2.
    assert zone["years"]["litres"]["values"] == [pytest.approx(105 * 20 / 60 * 40 * 200)]


def test_a_change_that_the_ideal_cannot_make_is_said_at_the_zone(office_api, garden, ready):
    variants = [
        {"name": "now"},
        {"name": "odd", "base": "ideal", "changes": [{"kind": "minutes", "percent": 50}]},
    ]

    odd = answered(office_api, garden, {"variants": variants})["answer"]["variants"][1]

    assert odd["zones"][0]["problem"]["code"] == "nothing-set"
    assert (odd["zones"][0]["years"], odd["difference"]) == (None, None)


@pytest.mark.parametrize(
    ("content", "pointer"),
    [
        ({"years": 5}, "/years"),
        ({"first_year": 2019}, "/last_year"),
        ({"first_year": "x", "last_year": 2019}, "/first_year"),
        ({"variants": []}, "/variants"),
        ({"variants": [{"base": "found"}]}, "/variants/0/name"),
        ({"variants": [{"name": "a", "base": "best"}]}, "/variants/0/base"),
        ({"variants": [{"name": "a", "colour": 1}]}, "/variants/0/colour"),
        ({"variants": [{"name": "a", "changes": [{"kind": "x"}]}]}, "/variants/0/changes/0/kind"),
        ({"variants": [{"name": "a", "changes": ["minutes"]}]}, "/variants/0/changes/0"),
        (
            {"variants": [{"name": "a", "changes": [{"kind": "minutes", "percent": 5, "m": 1}]}]},
            "/variants/0/changes/0/m",
        ),
        (
            {"variants": [{"name": "a", "changes": [{"kind": "minutes", "percent": -5}]}]},
            "/variants/0/changes/0/percent",
        ),
        (
            {"variants": [{"name": "a", "changes": [
                {"kind": "rain_sensor", "rain": {"value": 5, "unit": "kPa"}, "days": 1}
            ]}]},
            "/variants/0/changes/0/rain",
        ),
        (
            {"variants": [{"name": "a", "changes": [
                {"kind": "seasonal_percent", "seasonal_percent": [100] * 11}
            ]}]},
            "/variants/0/changes/0/seasonal_percent",
        ),
        (
            {"variants": [{"name": "a", "seasonal_percent": [100] * 12}]},
            "/variants",
        ),
        (
            {"variants": [{"name": "a", "anchor": "2026-06-01"}]},
            "/variants",
        ),
        (
            {"variants": [{"name": "a", "changes": [{"kind": "minutes", "percent": "nan"}]}]},
            "/variants",
        ),
        (
            {"variants": [{"name": "a", "base": "program", "programs": [{**PROGRAM, "runs": []}]}]},
            "/variants/0/programs/0/runs",
        ),
    ],
)  # fmt: skip
def test_each_wrong_value_is_named_and_nothing_is_stored(
    office_api, garden, zone, content, pointer
):
    before = row_counts()

    answer = office_api.post(address(garden), content, format="json", headers=keyed())

    assert answer.status_code == 400
    assert any(each.startswith(pointer) for each in pointers(answer)), pointers(answer)
    assert row_counts() == before


def test_a_percentage_that_is_no_number_is_refused(office_api, garden, ready):
    program = {**PROGRAM, "runs": [{"zone": str(ready.pk), "run_min": 10}]}
    variant = {
        "name": "p", "base": "program", "programs": [program], "seasonal_percent": ["nan"] * 12,
    }  # fmt: skip

    answer = office_api.post(
        address(garden), {"variants": [variant]}, format="json", headers=keyed()
    )

    assert pointers(answer)[0] == "/variants/0/seasonal_percent/0"


def test_only_the_office_asks_and_only_those_with_a_visit_read(callers, office, garden, ready):
    row, _ = make_question(garden, office)

    asked = [
        api.post(address(garden), {}, format="json", headers=keyed()).status_code for api in callers
    ]
    read = [api.get(f"/api/v1/replays/{row.pk}").status_code for api in callers]

    assert asked == [202, 403, 403, 401]
    assert read == [200, 200, 404, 401]


def test_the_list_tells_states_without_answers_and_narrows_to_a_property(
    callers, office, garden, other_garden, ready
):
    office_api, technician_api, outsider_api, _ = callers
    make_answer(garden, office)
    answered_row = Replay.objects.get()
    make_answer(garden, office, first_year=1990, last_year=1991)
    waiting_row, _ = make_question(garden, office)
    Replay.objects.create(property=other_garden, asked={"entered": []}, **cast.ROW)

    mine = office_api.get(f"/api/v1/replays?property={garden.pk}").json()["results"]

    states = {each["id"]: each["state"] for each in mine}
    assert states.pop(str(answered_row.pk)) == "answered"
    assert states.pop(str(waiting_row.pk)) == "waiting"
    assert list(states.values()) == ["refused"]
    assert all("answer" not in each for each in mine)
    assert len(office_api.get("/api/v1/replays").json()["results"]) == 4
    assert len(technician_api.get("/api/v1/replays").json()["results"]) == 3
    assert outsider_api.get("/api/v1/replays").json()["results"] == []


def test_a_refusal_is_read_with_its_remedy(office_api, office, garden, ready):
    make_answer(garden, office, first_year=1990, last_year=1991)
    row = Replay.objects.get()

    content = office_api.get(f"/api/v1/replays/{row.pk}").json()

    assert (content["state"], content["answer"]) == ("refused", None)
    assert content["refusal"]["code"] == "no-weather-years"


def test_a_longer_list_and_more_zones_ask_the_database_no_more_often(
    office_api, office, garden, controller, visit, ready
):
    def counts():
        with CaptureQueriesContext(
            connection,
        ) as of_list:
            office_api.get("/api/v1/replays")
        with CaptureQueriesContext(connection) as of_post:
            row = office_api.post(address(garden), {}, format="json", headers=keyed()).json()
        job = Job.objects.get(pk=row["job"]["id"])
        with CaptureQueriesContext(connection) as of_job:
            run_job(job.pk, now=cast.NOW)
        with CaptureQueriesContext(connection) as of_detail:
            office_api.get(f"/api/v1/replays/{row['replay']}")
        return [len(each) for each in (of_list, of_post, of_job, of_detail)]

    counts()
    few = counts()
    for number in range(2, 6):
        zone = cast.make_zone(controller, number=number)
        cast.make_catch_test(visit, zone)
        cast.make_heads(zone)

    assert counts() == few
