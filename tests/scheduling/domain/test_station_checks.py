import datetime as dt

import pytest

from properties.domain.errors import InvalidInputError
from scheduling.domain.station_files import read_station_file
from tests.scheduling.domain.station_lines import STATION, element_line, only_problem, values_of

WIND_HEADER = "STATION,NAME,DATE,AWND,PRCP,TMAX,TMIN"
TEMPERATURE_HEADER = "STATION,NAME,DATE,PRCP,TMAX,TMIN"


def order_rows(temperatures, months=1):
    return [TEMPERATURE_HEADER] + [
        f"ZZTEST00001,X,2021-{month:02}-{day:02},0,{tmax},{tmin}"
        for month in range(1, months + 1)
        for day, (tmax, tmin) in enumerate(temperatures, start=1)
    ]


def read_days(lines, units):
    station_file = read_station_file(lines, units=units)
    list(station_file.days())
    return station_file


@pytest.mark.parametrize("flag", "DGIKLMNORSTWXZ")
def test_a_value_with_a_quality_flag_is_dropped_and_counted_by_letter(flag):
    station_file = read_station_file([element_line(flags=f",{flag},7"), element_line()])

    assert [value.line_number for value in station_file.values()] == [2]
    assert station_file.report.dropped_by_flag == {flag: 1}
    assert station_file.report.problem_count == 0


def test_a_trace_of_rain_is_no_rain():
    assert values_of([element_line("PRCP", "3", "T,,7")]) == [0.0]
    assert values_of([element_line("PRCP", "3", "P,,7")]) == [0.3]


@pytest.mark.parametrize("source", ["7", "~", "", "new"])
def test_an_unknown_source_is_never_refused(source):
    assert values_of([element_line(flags=f",,{source}")]) == [30.0]


def test_tenths_become_degrees_millimetres_and_metres_a_second():
    lines = [
        element_line("TMAX", "-53"), element_line("PRCP", "3"), element_line("AWND", "47"),
    ]  # fmt: skip

    assert values_of(lines) == [-5.3, 0.3, 4.7]


def test_standard_units_are_converted():
    row = f'"{STATION}","X","2021-06-10","10.00","0.01","-4","-40"'

    values = values_of([WIND_HEADER, row], units="standard")

    # By second route: -4 degF = -36 x 5 / 9; 10 mph = 16.09344 km/h; 0.01 in = 0.254 mm.
    assert values == pytest.approx([-40.0, -20.0, 0.254, 16.09344 / 3.6], abs=5e-4)


@pytest.mark.parametrize(
    ("element", "value", "is_believed"),
    [
        ("TMAX", "600", True), ("TMAX", "601", False), ("TMIN", "-700", True),
        ("TMIN", "-701", False), ("PRCP", "-1", False), ("PRCP", "20000", True),
        ("PRCP", "20001", False), ("AWND", "500", True), ("AWND", "501", False),
        ("ADPT", "600", True), ("ADPT", "601", False), ("RHAV", "100", True),
        ("RHAV", "101", False), ("RHMN", "-1", False), ("RHMX", "0", True),
    ],
)  # fmt: skip
def test_values_are_believed_up_to_their_limits(element, value, is_believed):
    station_file = read_station_file([element_line(element, value)])

    assert len(list(station_file.values())) == is_believed
    assert station_file.report.problem_count == (not is_believed)


def test_a_maximum_of_95_degrees_is_probably_fahrenheit():
    assert "Fahrenheit" in only_problem([element_line(value="950")]).remedy
    assert "Fahrenheit" not in only_problem([element_line(value="9500")]).remedy


def test_a_value_with_a_decimal_point_is_not_tenths():
    assert "ordered file" in only_problem([element_line(value="30.0")]).remedy


def test_summer_in_fahrenheit_cannot_be_metric():
    station_file = read_days(order_rows([(95, 70), (97, 72), (93, 69)]), "metric")

    with pytest.raises(InvalidInputError, match="standard") as refusal:
        station_file.check_units()
    assert refusal.value.code == "doubtful-units"


def test_one_slip_of_the_keyboard_does_not_put_the_units_in_doubt():
    station_file = read_days(order_rows([(35.1, 20.0), (351, 20.0), (34.0, 19.9)]), "metric")

    station_file.check_units()
    assert station_file.report.problem_count == 1


def test_a_few_fractions_without_a_warm_day_are_celsius():
    station_file = read_days(order_rows([(35.6, 20.2), (34.4, 21.1)]), "standard")

    with pytest.raises(InvalidInputError, match="metric"):
        station_file.check_units()


def test_a_year_without_a_warm_day_is_celsius():
    station_file = read_days(order_rows([(35, 20)] * 28, months=12), "standard")

    with pytest.raises(InvalidInputError, match="metric"):
        station_file.check_units()


def test_a_winter_in_whole_fahrenheit_is_believed():
    read_days(order_rows([(35, 20), (41, 28)]), "standard").check_units()


def test_a_warm_year_in_fahrenheit_is_believed():
    read_days(order_rows([(86.5, 60.5), (59.5, 41.5)], months=12), "standard").check_units()


def test_layouts_in_tenths_leave_no_doubt():
    read_days(["ZZTEST00001,20210610,TMAX,950,,,,"] * 4, None).check_units()


def test_humidity_is_whole_percent_in_every_layout():
    assert values_of([element_line("RHAV", "47"), element_line("ADPT", "-15")]) == [47.0, -1.5]
    row = f'"{STATION}","X","2021-06-10","41","88","32"'
    header = "STATION,NAME,DATE,RHMN,RHMX,ADPT"

    # 32 degF is the ice point, 0 degC.
    assert values_of([header, row], units="standard") == [0.0, 41.0, 88.0]


def test_a_total_of_several_days_is_not_the_rain_of_one():
    station_file = read_station_file(
        [element_line("PRCP", "300", "A,,7"), element_line("TMAX", "300", "A,,7")]
    )

    assert [value.element for value in station_file.values()] == ["TMAX"]
    assert station_file.report.multiday_totals == 1


def test_a_day_to_come_that_is_missing_is_no_problem():
    line = f"{STATION}202106TMAX" + "  300  7" * 2 + "-9999   " * 29

    station_file = read_station_file([line], last_date=dt.date(2021, 6, 2))

    assert len(list(station_file.days())) == 2
    assert (station_file.report.values_missing, station_file.report.problem_count) == (28, 0)
