"""Storing station files."""

from __future__ import annotations

import datetime as dt
from functools import partialmethod
from pathlib import Path

import pytest
from django.db import connection

from properties.domain.errors import InvalidInputError
from scheduling.domain.evapotranspiration import extraterrestrial_radiation, hargreaves
from scheduling.domain.station_files import StationFile
from scheduling.domain.station_values import Layout
from scheduling.models import StationCalibration, WeatherDay
from scheduling.services import weather_days
from scheduling.services.et0 import compute_et0
from scheduling.services.weather import (
    import_station_blocks,
    import_station_file,
)
from tests import cast

DATA = Path(__file__).parents[1] / "data"
CODE = "ZZTEST00001"
FILES = {
    "by_station.csv": None,
    "access.csv": None,
    "daily_summaries_metric.csv": "metric",
    "daily_summaries_standard.csv": "standard",
    "month_lines.dly": None,
}
# The four sound days of every test file, see tests/scheduling/domain/test_station_files.py.
SOUND_DAYS = [
    (dt.date(2021, 6, 10), 20.0, 35.0, 0.0),
    (dt.date(2021, 6, 11), 15.0, 30.0, 12.7),
    (dt.date(2021, 6, 12), 10.0, 25.0, 25.4),
    (dt.date(2021, 6, 13), None, None, 12.7),
]
COLUMNS = ("date", "tmin_c", "tmax_c", "rain_mm")


@pytest.fixture
def bare(company):
    """A station without any weather."""
    return cast.make_station()


def lines(*values, code=CODE):
    """Element lines out of (day, element, tenths)."""
    return [f"{code},{day},{element},{tenths},,,7,0700\n" for day, element, tenths in values]


def import_lines(*values, code=CODE):
    return import_station_file(lines(*values, code=code), now=cast.NOW)


def stored(*names):
    return list(WeatherDay.objects.order_by("station__code", "date").values_list(*names))


def counts(report):
    return report.days_added, report.days_changed, report.days_unchanged


@pytest.mark.parametrize(("name", "units"), FILES.items())
def test_every_layout_stores_the_same_days(bare, name, units):
    text = (DATA / name).read_text().splitlines(keepends=True)

    report = import_station_file(text, units=units, now=cast.NOW)

    assert stored(*COLUMNS) == [
        tuple(pytest.approx(value) if isinstance(value, float) else value for value in day)
        for day in SOUND_DAYS
    ]
    assert counts(report) == (4, 0, 0)
    assert report.reading.problem_count > 0


def test_a_layout_that_is_named_is_believed(bare):
    with pytest.raises(InvalidInputError):
        import_station_file(
            (DATA / "by_station.csv").read_text().splitlines(), layout=Layout.ACCESS, now=cast.NOW
        )


def test_the_stored_et0_is_that_of_the_domain(bare):
    import_lines(
        ("20210610", "TMIN", 200), ("20210610", "TMAX", 350), ("20210611", "TMAX", 300),
        ("20211201", "TMIN", -50), ("20211201", "TMAX", 60),
    )  # fmt: skip

    # Day 161 and 335 of 2021, counted on a calendar.
    expected = [
        float(hargreaves(low, high, extraterrestrial_radiation(bare.latitude, day)))
        for low, high, day in ((20.0, 35.0, 161), (-5.0, 6.0, 335))
    ]
    found = [et0 for (et0,) in stored("et0_mm")]
    assert found == [pytest.approx(expected[0], abs=5e-5), None,
                     pytest.approx(expected[1], abs=5e-5)]  # fmt: skip
    assert found[0] > 5


def test_et0_takes_each_stations_own_latitude(bare):
    north = cast.make_station(code="ZZTEST00002", latitude=60.0)
    import_station_file(
        [
            line
            for code in (CODE, north.code)
            for line in lines(("20210110", "TMIN", 0), ("20210110", "TMAX", 100), code=code)
        ],
        now=cast.NOW,
    )

    southern, northern = (et0 for (et0,) in stored("et0_mm"))
    assert southern > 2 * northern > 0


def test_a_second_import_changes_nothing(bare):
    text = (DATA / "by_station.csv").read_text().splitlines(keepends=True)
    import_station_file(text, now=cast.NOW)
    before = list(WeatherDay.objects.order_by("pk").values())

    again = import_station_file(text, now=cast.NOW)

    assert counts(again) == (0, 0, 4)
    assert list(WeatherDay.objects.order_by("pk").values()) == before


def test_a_partial_file_completes_days_and_clears_nothing(bare):
    import_lines(("20210610", "TMAX", 350), ("20210610", "PRCP", 12), ("20210611", "PRCP", 5))

    report = import_lines(("20210610", "TMIN", 200), ("20210612", "PRCP", 0))

    assert counts(report) == (1, 1, 0)
    assert stored(*COLUMNS) == [
        (dt.date(2021, 6, 10), 20.0, 35.0, 1.2),
        (dt.date(2021, 6, 11), None, None, 0.5),
        (dt.date(2021, 6, 12), None, None, 0.0),
    ]
    assert stored("et0_mm")[0][0] is not None


def test_a_corrected_value_replaces_the_old_one_and_its_et0(bare):
    import_lines(("20210610", "TMIN", 200), ("20210610", "TMAX", 350))
    (before,) = stored("et0_mm")

    report = import_lines(("20210610", "TMAX", 300))

    assert counts(report) == (0, 1, 0)
    assert stored("tmin_c", "tmax_c") == [(20.0, 30.0)]
    assert stored("et0_mm") != [before]


def test_temperatures_that_contradict_stored_ones_are_left_out_and_told(bare):
    import_lines(("20210610", "TMIN", 200), ("20210610", "TMAX", 350))

    report = import_lines(("20210610", "TMAX", 100))

    assert report.impossible_days == 1
    assert stored("tmin_c", "tmax_c") == [(20.0, 35.0)]


def test_a_broken_line_in_the_middle_is_told_and_the_rest_is_stored(bare):
    good = lines(*((f"202106{day:02}", "PRCP", day) for day in range(1, 11)))
    text = [*good[:5], "ZZTEST00001,20210699,PRCP,1,,,7,\n", "what is this\n", *good[5:]]

    report = import_station_file(text, now=cast.NOW)

    assert counts(report) == (10, 0, 0)
    assert [(p.line_number, p.field) for p in report.reading.problems] == [(6, "date"), (7, "line")]
    assert all(problem.detail and problem.remedy for problem in report.reading.problems)


def test_days_to_come_are_told_and_not_stored(bare):
    report = import_lines(("20260611", "PRCP", 1), ("20260612", "PRCP", 1))

    assert stored("date") == [(dt.date(2026, 6, 11),)]
    (problem,) = report.reading.problems
    assert (problem.line_number, problem.field) == (2, "date")


def test_days_of_stations_that_nobody_registered_are_counted(bare):
    report = import_station_file(
        lines(("20210610", "PRCP", 1))
        + lines(("20210610", "PRCP", 1), ("20210611", "PRCP", 1), code="ZZTEST00009"),
        now=cast.NOW,
    )

    assert counts(report) == (1, 0, 0)
    assert report.reading.unwanted == {"ZZTEST00009": 2}


def test_a_file_of_strangers_only_is_refused(bare):
    with pytest.raises(InvalidInputError, match="ZZTEST00009") as refusal:
        import_lines(("20210610", "PRCP", 1), code="ZZTEST00009")

    assert (refusal.value.code, refusal.value.field) == ("unknown-station", "station")
    assert not WeatherDay.objects.exists()


def test_doubtful_units_store_nothing(bare):
    header = "STATION,NAME,DATE,TMAX,TMIN\n"
    days = [f"{CODE},Field,2021-06-{day:02},{90 + day},68\n" for day in range(1, 9)]

    with pytest.raises(InvalidInputError) as refusal:
        import_station_file([header, *days], units="metric", now=cast.NOW)

    assert refusal.value.code == "doubtful-units"
    assert not WeatherDay.objects.exists()


def test_a_crash_in_the_middle_stores_nothing(bare, monkeypatch):
    monkeypatch.setattr(weather_days, "BATCH_DAYS", 2)
    monkeypatch.setattr(StationFile, "batches", partialmethod(StationFile.batches, open_years=2))
    stored_before_the_crash = []

    def broken():
        for year in range(1990, 2020):
            yield "".join(lines((f"{year}0601", "PRCP", 1))).encode()
        stored_before_the_crash.append(WeatherDay.objects.count())
        raise OSError("the disk went away")

    with pytest.raises(OSError, match="disk"):
        import_station_blocks(broken(), now=cast.NOW)

    assert stored_before_the_crash[0] > 0
    assert not WeatherDay.objects.exists()


def test_a_long_file_goes_in_by_batches(bare, monkeypatch, django_assert_max_num_queries):
    monkeypatch.setattr(weather_days, "BATCH_DAYS", 7)
    days = [(f"{year}06{day:02}", "PRCP", day) for year in range(1990, 1995) for day in range(1, 8)]

    # Savepoint, stations, calibrations, first and last day, whether a new fit is due, and one
    # statement for each batch.
    with django_assert_max_num_queries(6 + 4 * 5 if connection.vendor == "postgresql" else 6 + 5):
        report = import_lines(*days)

    assert counts(report) == (35, 0, 0)
    assert WeatherDay.objects.count() == 35


def test_a_file_with_wind_only_stores_it_without_et0(bare):
    report = import_lines(("20210610", "AWND", 30))

    assert counts(report) == (1, 0, 0)
    assert stored("wind_m_s", "et0_mm", "et0_method") == [(3.0, None, "")]


HUMID = (("TMIN", 200), ("TMAX", 350), ("AWND", 30), ("ADPT", 150), ("RHMN", 30), ("RHMX", 80))


def test_humidity_and_wind_are_stored_and_give_the_fuller_et0(bare):
    import_lines(*(("20210610", element, value) for element, value in (*HUMID, ("RHAV", 55))))

    day = WeatherDay.objects.get()
    assert (day.wind_m_s, day.dew_point_c) == (3.0, 15.0)
    assert (day.humidity_min_percent, day.humidity_percent, day.humidity_max_percent) == (
        30,
        55,
        80,
    )
    assert day.et0_method == "penman_monteith"


def test_columns_and_single_days_have_the_same_et0(bare):
    StationCalibration.objects.create(
        station=bare, slope=1.1, offset_mm=0.2, days=400, first_date=dt.date(2019, 1, 1),
        last_date=dt.date(2020, 12, 31), bias_before_mm=0, rmse_before_mm=0, rmse_after_mm=0,
        computed_at=cast.NOW,
    )  # fmt: skip
    plain = cast.make_station(code="ZZTEST00002", latitude=-35.0, elevation_m=500.0)
    days = [
        line
        for code in (bare.code, plain.code)
        for line in lines(
            *(("20200229", element, value) for element, value in HUMID),
            ("20201231", "TMIN", -100), ("20201231", "TMAX", 21), ("20200301", "TMAX", 200),
            code=code,
        )
    ]  # fmt: skip
    import_station_file(days, now=cast.NOW)

    rows = list(WeatherDay.objects.select_related("station").order_by("station__code", "date"))
    kept = [(row.et0_mm, row.et0_method) for row in rows]
    compute_et0(rows)

    assert kept == [(row.et0_mm, row.et0_method) for row in rows]
    assert [method for _, method in kept] == [
        "penman_monteith", "", "calibrated", "penman_monteith", "", "hargreaves",
    ]  # fmt: skip


def test_the_sun_that_is_stored_stays_and_counts(bare):
    import_lines(*(("20210610", element, value) for element, value in HUMID))
    (cloudless,) = stored("et0_mm")
    WeatherDay.objects.update(solar_mj_m2=5.0)

    import_lines(("20210610", "TMAX", 351))

    (found,) = stored("solar_mj_m2", "et0_mm")
    assert found[0] == 5.0
    assert found[1] < cloudless[0] - 1


@pytest.mark.parametrize("wind", [0, 500])
@pytest.mark.parametrize(("low", "high", "dew"), [(-700, -700, -700), (-700, 600, 600), (600,) * 3])
def test_whatever_the_reader_believes_can_be_stored(company, wind, low, high, dew):
    station = cast.make_station(latitude=-90.0, elevation_m=6000.0, anemometer_height_m=0.5)

    report = import_lines(
        ("20210610", "TMIN", low), ("20210610", "TMAX", high), ("20210610", "AWND", wind),
        ("20210610", "ADPT", dew), ("20210610", "RHMN", 0), ("20210610", "RHMX", 100),
        ("20210610", "PRCP", 20_000), code=station.code,
    )  # fmt: skip

    assert (counts(report), report.reading.problem_count) == ((1, 0, 0), 0)


@pytest.mark.parametrize(
    ("first", "then"),
    [(("RHMX", 60), ("RHMN", 61)), (("TMAX", 100), ("ADPT", 101)), (("TMIN", 50), ("TMAX", 49))],
)
def test_whatever_contradicts_stored_values_is_left_out(bare, first, then):
    import_lines(("20210610", *first))
    before = stored(*COLUMNS, "humidity_min_percent", "humidity_max_percent", "dew_point_c")

    report = import_lines(("20210610", *then))

    assert (report.impossible_days, counts(report)) == (1, (0, 0, 0))
    assert stored(*COLUMNS, "humidity_min_percent", "humidity_max_percent", "dew_point_c") == before


def test_a_day_that_comes_in_parts_is_one_row(bare, monkeypatch):
    monkeypatch.setattr(StationFile, "batches", partialmethod(StationFile.batches, open_years=2))
    years = range(1990, 2000)
    tmin = [line for year in years for line in lines((f"{year}0601", "TMIN", 100))]
    tmax = [line for year in years for line in lines((f"{year}0601", "TMAX", 200))]

    import_station_blocks((line.encode() for line in [*tmin, *tmax]), now=cast.NOW)

    assert stored("tmin_c", "tmax_c") == [(10.0, 20.0)] * 10
    assert WeatherDay.objects.filter(et0_mm__gt=0).count() == 10
