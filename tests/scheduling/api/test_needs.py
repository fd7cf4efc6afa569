"""Diagnosis and found water with the need, over the API."""

from __future__ import annotations

import pytest

from audits.models import FlowCheck
from scheduling.models import WeatherDay
from scheduling.selectors.needs import diagnosis_with_need, monthly_need_of
from tests import cast
from tests.problems import pointers, row_counts
from tests.scheduling.selectors.test_needs import set_as_planned

PATHS = ("diagnosis-with-need", "found-water-with-need")
SOURCE = "Tallgrass Field Station, usual year of 2015 to 2020 (6 years)"


def address(zone, path):
    return f"/api/v1/zones/{zone.pk}/{path}"


def set_program(zone, run_min=60):
    setting = zone.controller.settings.create(source="found", since=cast.TODAY, **cast.ROW)
    program = setting.programs.create(name="A", weekdays=[0, 2, 4], starts=["05:00"])
    program.runs.create(zone=zone, run_min=run_min)


def near(value, unit):
    return {"value": pytest.approx(value, rel=1e-5), "unit": unit}


@pytest.mark.parametrize(("units", "unit", "litres"), [("us", "gal", 3.785411784),
                                                       ("metric", "L", 1)])  # fmt: skip
def test_the_program_is_diagnosed_and_its_worth_told(
    technician_api, zone, tested, units, unit, litres
):
    zone.property.water_price_per_m3 = "1.5000"
    zone.property.save()
    set_program(zone)

    content = technician_api.get(f"{address(zone, 'diagnosis-with-need')}?units={units}").json()

    assert (content["zone"], content["need_source"]) == (str(zone.pk), SOURCE)
    assert (content["currency"], content["refusal"]) == ("USD", None)
    cause, (_, worth) = content["causes"][0], diagnosis_with_need(zone).worths[0]
    assert (cause["kind"], cause["repair"]["code"]) == ("overwatering", "shorten-program")
    assert cause["evidence"][0]["code"] == "more-than-needed"
    saved = worth.litres_saved_per_year
    assert cause["worth"]["volume_saved"] == near(saved / litres, unit)
    assert cause["worth"]["money_saved"] == f"{saved * 0.0015:.2f}"
    assert cause["worth"]["minutes_saved"] == pytest.approx(worth.minutes_saved_per_year)
    assert (cause["worth"]["du_lq_now"], cause["worth"]["du_lq_after"]) == (0.75, 0.75)


def test_each_month_stands_against_its_need(technician_api, zone, tested):
    set_program(zone, 30)

    address_ = f"{address(zone, 'found-water-with-need')}?units=metric"
    content = technician_api.get(address_).json()

    need = monthly_need_of(zone).weekly_mm
    assert content["need_source"] == SOURCE
    for month, needed in zip(content["months"], need, strict=True):
        assert month["found_weekly"] == near(60, "mm")
        assert month["needed_weekly"] == near(needed, "mm")
        # Uniformity 0.75: 1 / (0.4 + 0.6 x 0.75) of the need is to be put down.
        assert month["gross_needed_weekly"] == near(needed / 0.85, "mm")
        assert month["difference"] == near(60 - needed / 0.85, "mm")
        assert month["ratio"] == pytest.approx(60 / needed * 0.85)
    lengths = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
    year = sum(mm * days / 7 for mm, days in zip(need, lengths, strict=True))
    assert content["needed_per_year"] == near(year, "mm")
    assert content["needed_volume_per_year"] == near(year * 200, "L")
    assert content["gross_needed_per_year"] == near(year / 0.85, "mm")
    assert content["gross_needed_volume_per_year"] == near(year / 0.85 * 200, "L")
    beyond = (60 * 365 / 7 - year / 0.85) * 200
    assert content["volume_difference_per_year"] == near(beyond, "L")
    assert content["multiplier"] == pytest.approx(1 / 0.85)
    assert (content["months"][0]["verdict"], content["verdict"]) == ("too_much", "too_much")
    assert content["worst_month"] in (1, 12)


@pytest.mark.parametrize("du_lq", [0.45, 0.7, 1.0])
def test_whoever_waters_as_planned_hears_neither_too_much_nor_too_little(
    technician_api, visit, zone, station, du_lq
):
    cast.make_catch_test(visit, zone, du_lq=du_lq)
    set_as_planned(zone, 7)

    water = technician_api.get(address(zone, "found-water-with-need")).json()
    causes = technician_api.get(address(zone, "diagnosis-with-need")).json()["causes"]

    assert water["months"][6]["verdict"] == "about_right"
    assert not {cause["kind"] for cause in causes} & {"overwatering", "underwatering"}


@pytest.mark.parametrize("path", PATHS)
def test_without_a_rate_the_answer_says_unknown_and_not_zero(
    technician_api, visit, zone, station, path
):
    set_program(zone)

    content = technician_api.get(address(zone, path)).json()

    if path == "diagnosis-with-need":
        assert content["refusal"]["code"] == "no-rate"
        assert content["causes"] == []
    else:
        assert (content["found_weekly"], content["verdict"]) == (None, "unknown")
        assert content["needed_per_year"]["value"] > 0
        assert (content["gross_needed_per_year"], content["multiplier"]) == (None, None)


@pytest.mark.parametrize("path", PATHS)
def test_without_weather_it_is_refused_with_the_cure(technician_api, zone, tested, path):
    WeatherDay.objects.all().delete()

    answer = technician_api.get(address(zone, path))

    assert (answer.status_code, pointers(answer)) == (409, ["/latitude"])
    assert answer.json()["code"] == "no-station"
    assert answer.json()["errors"][0]["remedy"]


@pytest.mark.parametrize("path", PATHS)
def test_who_may_read_and_nothing_is_written(callers, zone, tested, path):
    before = row_counts()

    answers = [api.get(address(zone, path)).status_code for api in callers]

    assert answers == [200, 200, 404, 401]
    assert row_counts() == before


@pytest.mark.parametrize("path", PATHS)
def test_many_rows_take_as_many_queries_as_few(
    technician_api, zone, tested, visit, path, django_assert_num_queries
):
    def grow():
        cast.make_catch_test(visit, zone)
        cast.make_heads(zone, rated_pressure_kpa=200.0)
        FlowCheck.objects.create(
            visit=visit, zone=zone, taken_at=cast.NOW, running_kpa=300.0, **cast.ROW
        )
        set_program(zone)

    grow()
    queries = {"found-water-with-need": 19, "diagnosis-with-need": 29}[path]
    with django_assert_num_queries(queries):
        technician_api.get(address(zone, path))
    for _ in range(5):
        grow()

    with django_assert_num_queries(queries):
        assert technician_api.get(address(zone, path)).status_code == 200
