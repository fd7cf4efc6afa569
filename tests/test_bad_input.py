"""What cannot be right is refused by its name, with a cure, and writes nothing.

Each row is sent through the API as a person could send it. A refusal names the field by a JSON
pointer under the name that the API has for it, and says in words what cures it.
"""

from __future__ import annotations

import datetime as dt
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from audits.models import Finding
from scheduling.models import WeatherDay
from tests import cast
from tests.problems import pointers, row_counts

TESTS, ZONES = "catch-tests", "zones"
IN_A_CUP = {"run_min": 10, "cup_shape": "straight_walled"}
DEPTHS = {"unit": "mm", "values": [6, 7, 8, 9]}
VOLUMES = {"unit": "mL", "values": [60, 70, 80, 90]}
AREA = {"unit": "cm2", "values": [100]}
WARM = {"tmin": {"value": 20, "unit": "degC"}, "tmax": {"value": 35, "unit": "degC"}}
STATION = {
    "code": "ZZTEST00009", "name": "Mill", "latitude": 40, "longitude": -101,
    "elevation": {"value": 900, "unit": "m"},
}  # fmt: skip
PLACE = {"name": "Yard", "street": "1 Mill Lane", "city": "Tallgrass", "latitude": 40,
         "longitude": -101}  # fmt: skip
ZONE = {"number": 7, "name": "Bank", "head_kind": "spray", "plant_type": "cool_turf",
        "soil_texture": "loam", "exposure": "full_sun"}  # fmt: skip


def without(body, name):
    return {key: value for key, value in body.items() if key != name}


def mm(*values):
    return {"unit": "mm", "values": list(values)}


# name: (path, body, status, pointer, words that the cure holds)
TABLE = {
    "cups of unequal size": (
        TESTS,
        {**IN_A_CUP, "volumes": VOLUMES,
         "throat_areas": {"unit": "cm2", "values": [100, 100, 102, 100]}},
        400, "/throat_areas", "cups of one size",
    ),
    "a ruler in a tapered cup": (
        TESTS, {"run_min": 10, "cup_shape": "tapered", "depths": DEPTHS},
        400, "/cup_shape", "Measure the volume",
    ),
    "a ruler in a tapered cup, poured together": (
        TESTS,
        {"run_min": 10, "cup_shape": "tapered", "pooled_cups": 4,
         "pooled_depth": {"value": 20, "unit": "mm"}},
        400, "/cup_shape", "Measure the volume",
    ),
    "all cups dry": (
        TESTS, {**IN_A_CUP, "depths": mm(0, 0, 0, 0)}, 400, "/depths", "Record a finding",
    ),
    "all volumes nothing": (
        TESTS, {**IN_A_CUP, "volumes": {"unit": "mL", "values": [0, 0]}, "throat_areas": AREA},
        400, "/volumes", "Record a finding",
    ),
    "all cups dry, poured together": (
        TESTS, {**IN_A_CUP, "pooled_depth": {"value": 0, "unit": "in"}, "pooled_cups": 4},
        400, "/pooled_depth", "Record a finding",
    ),
    "no cup at all": (TESTS, {**IN_A_CUP, "depths": mm()}, 400, "/depths", "Send from 1 to 500"),
    "a negative depth": (
        TESTS, {**IN_A_CUP, "depths": mm(6, -1, 7)}, 400, "/depths/values/1",
        "Enter a number from 0 to 300 mm",
    ),
    "an absurd depth": (
        TESTS, {**IN_A_CUP, "depths": {"unit": "in", "values": [0.3, 0.2, 31]}},
        400, "/depths/values/2", "Enter a number from 0 to 11.811 in",
    ),
    "an absurd depth, poured together": (
        TESTS, {**IN_A_CUP, "pooled_depth": {"value": 301, "unit": "mm"}, "pooled_cups": 4},
        400, "/pooled_depth", "Enter a number from 0 to 300 mm",
    ),
    "a run of no minutes": (
        TESTS, {**IN_A_CUP, "run_min": 0, "depths": DEPTHS}, 400, "/run_min", "Enter a number from",
    ),
    "a run of minus ten minutes": (
        TESTS, {**IN_A_CUP, "run_min": -10, "depths": DEPTHS},
        400, "/run_min", "Enter a number from",
    ),
    "a run of no known length": (
        TESTS, {"cup_shape": "straight_walled", "depths": DEPTHS}, 400, "/run_min", "required",
    ),
    "a run that is no number": (
        TESTS, {**IN_A_CUP, "run_min": "nan", "depths": DEPTHS},
        400, "/run_min", "number is required",
    ),
    "a rate beyond belief": (
        TESTS, {**IN_A_CUP, "run_min": 0.5, "depths": mm(20, 21)}, 400, "/run_min", "Check the",
    ),
    "volumes without a throat area": (
        TESTS, {"run_min": 10, "cup_shape": "tapered", "volumes": VOLUMES},
        400, "/throat_areas", "Enter a number from 0.5",
    ),
    "one volume without a rim area": (
        TESTS,
        {"run_min": 10, "cup_shape": "tapered", "pooled_cups": 4,
         "pooled_volume": {"value": 270, "unit": "mL"}},
        400, "/throat_areas", "Enter a number from 0.5",
    ),
    "cups poured together without their number": (
        TESTS, {**IN_A_CUP, "pooled_depth": {"value": 20, "unit": "mm"}},
        400, "/pooled_cups", "Send the number of cups",
    ),
    "two readings of one test": (
        TESTS, {**IN_A_CUP, "depths": DEPTHS, "volumes": VOLUMES, "throat_areas": AREA},
        400, "/volumes", "one of the four",
    ),
    "no reading of a test": (TESTS, IN_A_CUP, 400, "/depths", "one of the four"),
    "a property beyond the pole": (
        "properties", {**PLACE, "latitude": 90.5}, 400, "/latitude", "between -90 and 90",
    ),
    "half a position": (
        "properties", without(PLACE, "longitude"), 400, "/latitude", "both latitude and longitude",
    ),
    "a station beyond the pole": (
        "weather-stations", {**STATION, "latitude": -91}, 400, "/latitude", "between -90 and 90",
    ),
    "a soil that no table has": (
        ZONES, {**ZONE, "soil_texture": "moon_dust"}, 400, "/soil_texture", "",
    ),
    "a day hotter at night": (
        "weather-days",
        {**WARM, "date": "2026-06-09", "tmin": {"value": 36, "unit": "degC"}},
        400, "/tmax", "Exchange the two",
    ),
    "a day in Fahrenheit named Celsius": (
        "weather-days", {**WARM, "date": "2026-06-09", "tmax": {"value": 95, "unit": "degC"}},
        400, "/tmax", "Enter a number from -70 to 60 degC",
    ),
    "a day to come": (
        "weather-days", {**WARM, "date": "2026-06-20"}, 400, "/date", "Enter days that were",
    ),
}  # fmt: skip


@pytest.fixture
def references(visit, zone, garden, station):
    visit_and_zone = {"visit": str(visit.pk), "zone": str(zone.pk)}
    return {
        TESTS: visit_and_zone,
        ZONES: {"property": str(garden.pk)},
        "properties": {"customer": str(garden.customer_id)},
        "weather-stations": {},
        "weather-days": {"station": str(station.pk)},
    }


@pytest.mark.parametrize("name", TABLE)
def test_it_is_refused_by_its_name_with_a_cure_and_nothing_is_written(office_api, references, name):
    path, body, status, pointer, cure = TABLE[name]
    before = row_counts()

    answer = office_api.post(f"/api/v1/{path}", {**references[path], **body})

    assert (answer.status_code, pointers(answer)) == (status, [pointer])
    (error,) = answer.json()["errors"]
    assert error["detail"]
    assert error["code"]
    assert cure in f"{error['detail']} {error.get('remedy', '')}"
    assert row_counts() == before


@pytest.mark.parametrize("name", TABLE)
def test_what_the_table_breaks_was_sound_before(office_api, references, name):
    """Each refusal is of the one thing that its row names: mended, the same body is accepted."""
    path, body, *_ = TABLE[name]
    sound = {
        TESTS: {**IN_A_CUP, "depths": DEPTHS}, ZONES: ZONE, "properties": PLACE,
        "weather-stations": STATION, "weather-days": {**WARM, "date": "2026-06-09"},
    }  # fmt: skip

    answer = office_api.post(f"/api/v1/{path}", {**references[path], **sound[path]})

    assert answer.status_code == 201, answer.json()
    assert body != sound[path]


@pytest.mark.parametrize(
    "body",
    [
        {**IN_A_CUP, "depths": mm(6, 7, 8)},
        {**IN_A_CUP, "pooled_depth": {"value": 24, "unit": "mm"}, "pooled_cups": 24},
    ],
    ids=["three cups", "poured together"],
)
def test_uniformity_is_unknown_where_no_cups_can_tell_it(office_api, references, body):
    answer = office_api.post(f"/api/v1/{TESTS}", {**references[TESTS], **body})

    content = answer.json()
    assert answer.status_code == 201
    assert (content["du_lq"], content["du_lh"], content["cu"]) == (None, None, None)
    assert content["rate"]["value"] > 0
    if content["is_pooled"]:
        return
    few = next(advice for advice in content["advice"] if advice["code"] == "too-few-cups")
    assert "at least 24 cups, and this test has 3" in few["sentence"]


def test_four_cups_tell_it(office_api, references):
    answer = office_api.post(
        f"/api/v1/{TESTS}", {**references[TESTS], **IN_A_CUP, "depths": DEPTHS}
    )

    assert answer.json()["du_lq"] == pytest.approx(6 / 7.5)


@pytest.mark.parametrize("path", ["zones/{zone}/plan?month=7", "zones/{zone}/season"])
def test_a_zone_without_a_rate_has_no_plan(office_api, zone, station, path):
    before = row_counts()

    answer = office_api.get("/api/v1/" + path.format(zone=zone.pk))

    assert (answer.status_code, pointers(answer)) == (409, ["/zone"])
    assert "Record a catch test" in answer.json()["remedy"]
    assert row_counts() == before


@pytest.mark.parametrize("path", ["zones/{zone}/plan?month=7", "properties/{garden}/season"])
@pytest.mark.parametrize("weather", ["none", "one day"])
def test_a_station_without_weather_gives_no_plan(office_api, garden, zone, visit, path, weather):
    cast.make_catch_test(visit, zone)
    station = cast.make_station()
    if weather == "one day":
        day = {"date": dt.date(2026, 6, 1), "tmin_c": 20, "tmax_c": 30, "rain_mm": 0}
        WeatherDay.objects.create(station=station, **day)
    before = row_counts()

    answer = office_api.get("/api/v1/" + path.format(zone=zone.pk, garden=garden.pk))

    pointer = {"none": "/latitude", "one day": "/station"}[weather]
    assert (answer.status_code, pointers(answer)) == (409, [pointer])
    assert "mport" in answer.json()["remedy"]
    assert row_counts() == before


def imported(path):
    out = StringIO()
    call_command("import_weather", str(path), stdout=out)
    return out.getvalue()


def test_a_file_with_a_broken_line_and_a_crossed_day_tells_both_and_keeps_the_rest(
    company, tmp_path
):
    cast.make_station()
    path = tmp_path / "days.csv"
    good = [f"ZZTEST00001,202106{day:02},PRCP,{day},,,7,0700" for day in range(1, 6)]
    crossed = [f"ZZTEST00001,20210610,{word},,,7,0700" for word in ("TMAX,100", "TMIN,200")]
    path.write_text("\n".join([*good[:2], "ZZTEST00001;broken", *good[2:], *crossed]) + "\n")

    said = imported(path)

    assert "Line 3, line: The line has 1 fields where 8 belong. Take the line from" in said
    assert "Line 8, TMAX: On 2021-06-10 the highest temperature, 10 degC, is below the" in said
    assert "Correct the two values" in said
    assert "Days: 5 added, 0 changed, 0 unchanged." in said
    assert WeatherDay.objects.count() == 5


def test_a_file_that_is_broken_as_a_whole_writes_nothing(company, tmp_path):
    cast.make_station()
    path = tmp_path / "days.csv"
    path.write_text("this is no weather\n")
    before = row_counts()

    with pytest.raises(CommandError, match="Send a file in one of these layouts"):
        imported(path)

    assert row_counts() == before


def test_all_dry_is_a_finding_instead(office_api, references, visit, zone):
    """The cure that a dry test names works."""
    body = {"fault": "valve_does_not_open", "severity": "urgent"}

    answer = office_api.post("/api/v1/findings", {**references[TESTS], **body})

    assert answer.status_code == 201
    assert Finding.objects.get().zone == zone
