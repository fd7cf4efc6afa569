"""What a controller is set to, recorded whole."""

from __future__ import annotations

import pytest

from audits.models import ProgramSetting
from audits.selectors.zones import running_minutes
from tests import cast
from tests.problems import pointers, row_counts

URL = "/api/v1/program-settings"


@pytest.fixture
def second(controller):
    return cast.make_zone(controller, number=2, name="Back lawn")


@pytest.fixture
def body(visit, controller, zone, second):
    def body(*programs, **changes):
        programs = list(programs) or [weekly(zone)]
        ids = {"controller": str(controller.pk), "visit": str(visit.pk)}
        return {**ids, "source": "found", "since": "2026-05-01", "programs": programs, **changes}

    return body


def weekly(zone, **changes):
    runs = [{"zone": str(zone.pk), "run_min": 18}]
    return {"name": "A", "weekdays": [0, 2, 4, 6], "starts": ["05:00"], "runs": runs, **changes}


def interval(*zones, **changes):
    runs = [{"zone": str(zone.pk), "run_min": 10} for zone in zones]
    starts = ["04:00", "17:30"]
    return {"name": "B", "interval_days": 2, "starts": starts, "runs": runs, **changes}


def test_the_whole_setting_comes_back(technician_api, body, zone, second):
    sent = body(
        weekly(zone, weekdays=[6, 0]), interval(zone, second, starts=["17:30", "04:00"]),
        seasonal_percent=120, clock_is_right=False, battery_is_good=True,
    )  # fmt: skip

    made = technician_api.post(URL, sent)

    assert made.status_code == 201, made.json()
    content = technician_api.get(f"{URL}/{made.json()['id']}").json()
    assert content == made.json()
    first, later = content["programs"]
    assert (first["weekdays"], first["interval_days"]) == ([0, 6], None)
    assert (later["weekdays"], later["interval_days"]) == ([], 2)
    assert later["starts"] == ["04:00", "17:30"]
    assert {run["zone"]: run["run_min"] for run in later["runs"]} == {
        str(zone.pk): 10, str(second.pk): 10,
    }  # fmt: skip
    assert content["seasonal_percent"] == 120
    assert (content["clock_is_right"], content["battery_is_good"]) == (False, True)


# Arithmetic: 4 days x 1 start x 18 min = 72; 3.5 days x 2 starts x 10 min = 70; together at 120 %.
def test_weekly_minutes_of_what_was_sent(technician_api, body, zone, second):
    technician_api.post(URL, body(weekly(zone), interval(zone, second), seasonal_percent=120))

    found = running_minutes([zone, second])

    assert found == {zone.pk: pytest.approx(142 * 1.2), second.pk: pytest.approx(70 * 1.2)}


def test_a_client_may_have_told_it_without_a_visit(office_api, body, zone):
    sent = body(source="told_by_client")
    del sent["visit"]

    assert office_api.post(URL, sent).status_code == 201


def test_a_controller_that_runs_nothing_is_a_setting_too(technician_api, body, zone):
    made = technician_api.post(URL, body(programs=[]))

    assert made.status_code == 201
    assert running_minutes([zone]) == {zone.pk: 0}


@pytest.mark.parametrize(
    ("program", "where"),
    [
        ({"interval_days": 2}, "/programs"),
        ({"weekdays": []}, "/programs"),
        ({"weekdays": [7]}, "/programs/0/weekdays/0"),
        ({"weekdays": [], "interval_days": 0}, "/programs/0/interval_days"),
        ({"weekdays": [], "interval_days": 32}, "/programs/0/interval_days"),
        ({"starts": []}, "/programs/0/starts"),
        ({"starts": ["25:00"]}, "/programs/0/starts/0"),
        ({"starts": ["05:00", "05:00"]}, "/programs"),
        ({"name": ""}, "/programs/0/name"),
        ({"stops": ["06:00"]}, "/programs/0/stops"),
    ],
)
def test_a_program_that_cannot_be_is_refused_by_its_place(
    technician_api, body, zone, program, where
):
    before = row_counts()

    answer = technician_api.post(URL, body(weekly(zone, **program)))

    assert (answer.status_code, pointers(answer)) == (400, [where])
    assert row_counts() == before


@pytest.mark.parametrize("run_min", [0, 1441, -5])
def test_a_run_of_no_minutes_or_over_a_day_is_refused(technician_api, body, zone, run_min):
    runs = [{"zone": str(zone.pk), "run_min": run_min}]

    answer = technician_api.post(URL, body(weekly(zone, runs=runs)))

    assert (answer.status_code, pointers(answer)) == (400, ["/programs/0/runs/0/run_min"])


def test_a_zone_twice_and_a_name_twice_are_refused_with_the_programs_name(
    technician_api, body, zone
):
    twice = technician_api.post(URL, body(weekly(zone), interval(zone, zone)))
    same_name = technician_api.post(URL, body(weekly(zone), interval(zone, name="A")))

    assert (twice.status_code, pointers(twice)) == (400, ["/programs"])
    assert twice.json()["detail"] == "Program B: A zone stands twice in the program."
    assert (same_name.status_code, pointers(same_name)) == (400, ["/programs"])
    assert same_name.json()["detail"] == "Program A stands twice in the setting."
    assert twice.json()["remedy"]
    assert same_name.json()["remedy"]
    assert not ProgramSetting.objects.exists()


def test_a_zone_of_another_controller_is_refused_by_name(technician_api, body, garden, zone):
    strange = cast.make_zone(cast.make_controller(garden, name="Shed"), number=3)
    runs = [{"zone": str(each.pk), "run_min": 5} for each in (zone, strange)]
    before = row_counts()

    answer = technician_api.post(URL, body(interval(zone), weekly(zone, runs=runs)))

    assert (answer.status_code, pointers(answer)) == (400, ["/programs"])
    assert "Zone 3 Front lawn is not wired" in answer.json()["detail"]
    assert row_counts() == before


def test_a_controller_elsewhere_than_the_visit_is_refused(office_api, body, other_garden):
    elsewhere = cast.make_controller(other_garden)

    answer = office_api.post(URL, body(controller=str(elsewhere.pk), programs=[]))

    assert (answer.status_code, pointers(answer)) == (400, ["/controller"])


def test_a_setting_of_the_future_is_refused(technician_api, body):
    assert technician_api.post(URL, body(since="2026-06-11")).status_code == 201

    answer = technician_api.post(URL, body(since="2026-06-12"))

    assert (answer.status_code, pointers(answer)) == (400, ["/since"])


@pytest.mark.parametrize("percent", [301, -1])
def test_an_absurd_percentage_is_refused(technician_api, body, percent):
    answer = technician_api.post(URL, body(seasonal_percent=percent))

    assert (answer.status_code, pointers(answer)) == (400, ["/seasonal_percent"])


def test_a_visit_not_under_way_is_refused(office_api, body, garden, technician):
    planned = cast.make_visit(garden, technician)

    answer = office_api.post(URL, body(visit=str(planned.pk)))

    assert (answer.status_code, pointers(answer)) == (409, ["/visit"])


def test_strangers_neither_record_nor_read(outsider_api, anonymous_api, technician_api, body):
    made = technician_api.post(URL, body()).json()

    assert outsider_api.post(URL, body()).status_code == 400
    assert outsider_api.get(f"{URL}/{made['id']}").status_code == 404
    assert anonymous_api.post(URL, {}).status_code == 401
    assert ProgramSetting.objects.count() == 1


def test_the_list_takes_as_many_queries_for_ten_as_for_one(
    technician_api, body, zone, second, django_assert_num_queries
):
    technician_api.post(URL, body())
    queries = 6  # token, company (units, and day of the scope), settings, programs, runs
    with django_assert_num_queries(queries):
        technician_api.get(URL)
    for _ in range(9):
        technician_api.post(URL, body(weekly(zone), interval(zone, second)))

    with django_assert_num_queries(queries):
        assert len(technician_api.get(URL).json()["results"]) == 10


# What is remarked


def codes(content):
    return [remark["code"] for remark in content["remarks"]]


def test_a_setting_comes_with_what_is_wrong_with_it(technician_api, body, controller, zone, second):
    controller.rain_sensor, controller.starts_per_program = "broken", 1
    controller.save()
    sent = body(
        weekly(zone, starts=["04:05"]), interval(zone, second), seasonal_percent=200,
        clock_is_right=False, battery_is_good=False,
    )  # fmt: skip

    made = technician_api.post(URL, sent).json()

    assert technician_api.get(f"{URL}/{made['id']}").json()["remarks"] == made["remarks"]
    assert codes(made) == [
        "clock-wrong", "battery-dead", "rain-sensor-broken", "percent-far-from-100",
        "no-named-weekday", "more-starts-than-controller", "runs-overlap", "leftover-start",
        "leftover-start",
    ]  # fmt: skip
    overlap, front = made["remarks"][6:8]
    assert overlap["sentence"] == (
        "Program B runs 40 min from 04:00, and program A starts at 04:05, 5 min later."
    )
    assert sorted(overlap["programs"]) == ["A", "B"]
    assert front["sentence"].startswith("Zone 1 Front lawn is run by 3 starts (programs A and B)")
    assert front["zones"] == [str(zone.pk)]
    assert all(remark["effect"] and remark["remedy"] for remark in made["remarks"])


@pytest.mark.parametrize(
    ("sensor", "expected"),
    [
        ("none", ["no-rain-sensor"]), ("broken", ["rain-sensor-broken"]), ("working", []),
        ("unknown", []),
    ],
)  # fmt: skip
def test_the_rain_sensor_is_judged_where_somebody_looked(
    technician_api, body, controller, sensor, expected
):
    controller.rain_sensor = sensor
    controller.save()

    assert codes(technician_api.post(URL, body()).json()) == expected


def test_remarks_cannot_be_sent(technician_api, body):
    answer = technician_api.post(URL, body(remarks=[]))

    assert (answer.status_code, pointers(answer)) == (400, ["/remarks"])


def test_more_programs_than_any_controller_holds_are_refused(technician_api, body, zone):
    programs = [weekly(zone, name=f"P{number}") for number in range(13)]

    answer = technician_api.post("/api/v1/program-settings", body(*programs))

    assert (answer.status_code, pointers(answer)[0].split("/")[1]) == (400, "programs")
    assert not ProgramSetting.objects.exists()
