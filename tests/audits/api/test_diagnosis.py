"""The diagnosis and the found water of a zone over the API, the need unknown."""

from __future__ import annotations

import pytest

from audits.domain.water_record import DAYS_IN_MONTH
from audits.models import Finding, FlowCheck
from tests import cast
from tests.problems import pointers, row_counts

PATHS = ("diagnosis", "found-water")


def address(zone, path):
    return f"/api/v1/zones/{zone.pk}/{path}"


@pytest.fixture
def leaking(visit, zone):
    """Ten heads of 7 L/min at the pressure they are made for, 50 % more through the meter."""
    cast.make_heads(zone, rated_pressure_kpa=200.0)
    FlowCheck.objects.create(
        visit=visit, zone=zone, taken_at=cast.NOW, meter_before_l=0, meter_after_l=210, run_min=2,
        flow_l_min=105.0, running_kpa=200.0, static_kpa=300.0, **cast.ROW,
    )  # fmt: skip
    return zone


def set_program(zone, *, run_min=15):
    setting = zone.controller.settings.create(source="found", since=cast.TODAY, **cast.ROW)
    program = setting.programs.create(name="A", weekdays=[0, 3], starts=["05:00", "06:00"])
    if run_min:
        program.runs.create(zone=zone, run_min=run_min)


def test_a_leak_is_named_with_its_evidence_and_repair(technician_api, leaking):
    before = row_counts()

    content = technician_api.get(address(leaking, "diagnosis")).json()

    assert (content["zone"], content["need_source"]) == (str(leaking.pk), None)
    (leak,) = [cause for cause in content["causes"] if cause["kind"] == "leak"]
    assert content["causes"][0] == leak
    (sign,) = [each for each in leak["evidence"] if each["code"] == "flow-over-nozzles"]
    assert sign["number"] == {"value": 1.5, "unit": "ratio"}
    assert leak["repair"]["code"] == "find-leak"
    assert leak["repair"]["parts"]
    assert 0.5 <= leak["strength"] <= 1
    assert row_counts() == before


# 400 kPa and the limit of 120 % of 200 kPa; 1 psi is 6.894757 kPa.
@pytest.mark.parametrize(("units", "unit", "kpa"), [("metric", "kPa", 1), ("us", "psi", 6.894757)])
def test_a_pressure_goes_out_in_the_units_of_the_request(
    technician_api, visit, zone, units, unit, kpa
):
    cast.make_heads(zone, rated_pressure_kpa=200.0)
    FlowCheck.objects.create(
        visit=visit, zone=zone, taken_at=cast.NOW, running_kpa=400.0, **cast.ROW
    )

    content = technician_api.get(f"{address(zone, 'diagnosis')}?units={units}").json()

    (cause,) = [each for each in content["causes"] if each["kind"] == "pressure_too_high"]
    (sign,) = [each for each in cause["evidence"] if each["code"] == "pressure-over-rated"]
    assert sign["number"] == {"value": pytest.approx(400 / kpa, rel=1e-5), "unit": unit}
    assert sign["limit"] == {"value": pytest.approx(240 / kpa, rel=1e-5), "unit": unit}


def test_of_a_zone_of_which_nothing_is_known_nothing_is_said(technician_api, zone, visit):
    content = technician_api.get(address(zone, "diagnosis")).json()

    assert content["causes"] == []


def test_a_finding_counts_its_heads(technician_api, visit, zone):
    Finding.objects.create(
        visit=visit, zone=zone, fault="leaning", severity="major", count=3, seen_at=cast.NOW,
        **cast.ROW,
    )  # fmt: skip

    (cause,) = technician_api.get(address(zone, "diagnosis")).json()["causes"]

    assert (cause["kind"], cause["evidence"][0]["number"]) == (
        "leaning_or_turned_head", {"value": 3, "unit": "count"},
    )  # fmt: skip


# Arithmetic: 2 days x 2 starts x 15 min at 40 mm/h are 40 mm a week, 40 x 365/7 in a year, on
# 200 m2 as many litres for each mm.
def test_the_found_program_is_told_in_a_week_and_a_year_and_the_need_is_null(
    technician_api, visit, zone
):
    test = cast.make_catch_test(visit, zone)
    set_program(zone)

    content = technician_api.get(f"{address(zone, 'found-water')}?units=metric").json()

    assert (content["test"], content["rate"]["value"]) == (str(test.pk), 40)
    assert (content["found_weekly_min"], content["found_weekly"]["value"]) == (60, 40)
    year = 40 * sum(DAYS_IN_MONTH) / 7
    assert content["found_per_year"] == {"value": pytest.approx(year, rel=1e-5), "unit": "mm"}
    litres = {"value": pytest.approx(year * 200, rel=1e-5), "unit": "L"}
    assert content["found_volume_per_year"] == litres
    for name in ("needed_per_year", "needed_volume_per_year", "need_source", "worst_month"):
        assert content[name] is None, name
    assert content["verdict"] == "unknown"
    assert [month["month"] for month in content["months"]] == list(range(1, 13))
    assert content["months"][6] == {
        "month": 7, "found_weekly": {"value": 40, "unit": "mm"}, "needed_weekly": None,
        "gross_needed_weekly": None,
        "difference": None, "ratio": None, "verdict": "unknown",
    }  # fmt: skip


@pytest.mark.parametrize("lack", ["program", "rate"])
def test_without_program_or_rate_the_water_is_unknown_and_not_zero(
    technician_api, visit, zone, lack
):
    if lack == "program":
        cast.make_catch_test(visit, zone)
    else:
        set_program(zone)

    content = technician_api.get(address(zone, "found-water")).json()

    for name in ("found_weekly", "found_per_year", "found_volume_per_year"):
        assert content[name] is None, name
    assert content["months"][0]["found_weekly"] is None


def test_a_program_that_leaves_the_zone_out_gives_it_zero(technician_api, visit, zone):
    cast.make_catch_test(visit, zone)
    set_program(zone, run_min=0)

    content = technician_api.get(address(zone, "found-water")).json()

    assert content["found_weekly"]["value"] == 0
    assert content["found_volume_per_year"]["value"] == 0


# Arithmetic: 10 heads x 7 L/min on 200 m2 are 21 mm/h; 60 min of it 21 mm.
def test_an_untested_zone_is_told_by_its_heads(technician_api, visit, zone):
    cast.make_heads(zone)
    set_program(zone)

    content = technician_api.get(f"{address(zone, 'found-water')}?units=metric").json()

    assert (content["test"], content["found_weekly"]["value"]) == (None, 21)


@pytest.mark.parametrize("path", PATHS)
def test_absurd_heads_are_refused_with_pointer_and_cure(technician_api, visit, controller, path):
    zone = cast.make_zone(controller, number=2, area_m2=0.1)
    cast.make_heads(zone, count=100)

    answer = technician_api.get(address(zone, path))

    assert (answer.status_code, pointers(answer)) == (409, ["/zone"])
    assert "area" in answer.json()["errors"][0]["remedy"]


@pytest.mark.parametrize("path", PATHS)
def test_who_may_read(callers, visit, zone, path):
    assert [api.get(address(zone, path)).status_code for api in callers] == [200, 200, 404, 401]


@pytest.mark.parametrize("path", PATHS)
def test_unknown_units_are_refused(technician_api, visit, zone, path):
    answer = technician_api.get(f"{address(zone, path)}?units=imperial")

    assert (answer.status_code, pointers(answer)) == (400, ["/units"])


@pytest.mark.parametrize("path", PATHS)
def test_many_rows_take_as_many_queries_as_few(
    technician_api, leaking, visit, path, django_assert_num_queries
):
    def grow():
        cast.make_catch_test(visit, leaking)
        cast.make_heads(leaking, rated_pressure_kpa=200.0)
        set_program(leaking)

    grow()
    queries = {"found-water": 10, "diagnosis": 14}[path]
    with django_assert_num_queries(queries):
        technician_api.get(address(leaking, path))
    for _ in range(5):
        grow()

    with django_assert_num_queries(queries):
        assert technician_api.get(address(leaking, path)).status_code == 200
