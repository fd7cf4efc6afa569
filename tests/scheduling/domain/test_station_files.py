import datetime as dt
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from properties.domain.errors import InvalidInputError
from scheduling.domain.station_files import LINE_LIMIT_CHARS, detect_layout, read_station_file
from scheduling.domain.station_values import EXCERPT_CHARS, PROBLEMS_KEPT, DayReading, Layout
from tests.scheduling.domain.station_lines import STATION, element_line, only_problem, values_of

DATA = Path(__file__).parents[1] / "data"

FILES = {
    "by_station.csv": (Layout.BY_STATION, None),
    "access.csv": (Layout.ACCESS, None),
    "daily_summaries_metric.csv": (Layout.DAILY_SUMMARIES, "metric"),
    "daily_summaries_standard.csv": (Layout.DAILY_SUMMARIES, "standard"),
    "month_lines.dly": (Layout.DLY, None),
}

# Invented; both unit systems write them exactly: 35 degC = 95 degF, 12.7 mm = 0.5 in.
SOUND_DAYS = {
    DayReading(STATION, dt.date(2021, 6, 10), 20.0, 35.0, 0.0),
    DayReading(STATION, dt.date(2021, 6, 11), 15.0, 30.0, 12.7),
    DayReading(STATION, dt.date(2021, 6, 12), 10.0, 25.0, 25.4),
    DayReading(STATION, dt.date(2021, 6, 13), None, None, 12.7),
}

PROBLEMS = {
    "by_station.csv": [
        (4, "line"), (6, "TMIN"), (9, "date"), (14, "TMIN"), (17, "TMAX"), (18, "TMAX"),
        (23, "station"), (24, "element"), (25, "flag"),
    ],
    "access.csv": [
        (3, "line"), (5, "date"), (7, "TMIN"), (8, "TMAX"), (9, "TMAX"), (10, "PRCP"),
        (10, "TMIN"), (11, "line"), (12, "flag"),
    ],
    "daily_summaries_metric.csv": [
        (3, "line"), (5, "date"), (7, "TMIN"), (8, "TMAX"), (9, "TMAX"), (10, "PRCP"),
    ],
    "daily_summaries_standard.csv": [
        (3, "line"), (5, "date"), (7, "TMIN"), (8, "TMAX"), (9, "TMAX"), (10, "PRCP"),
    ],
    "month_lines.dly": [
        (1, "TMAX"), (2, "TMAX"), (4, "line"), (5, "TMIN"), (5, "TMIN"), (6, "date"), (7, "date"),
    ],
}  # fmt: skip

# Lines read, passed over, values accepted, missing, repeated.
COUNTS = {
    "by_station.csv": (25, 1, 10, 1, 1),
    "access.csv": (12, 0, 10, 1, 2),
    "daily_summaries_metric.csv": (10, 0, 10, 4, 2),
    "daily_summaries_standard.csv": (10, 0, 10, 4, 2),
    "month_lines.dly": (8, 1, 10, 103, 0),
}

ORDERED_HEADER = "STATION,STATION_NAME,DATE,TMAX"
ACCESS_HEADER = '"STATION","DATE","LATITUDE","TMAX","TMAX_ATTRIBUTES"'


def read(name):
    _, units = FILES[name]
    return read_station_file((DATA / name).read_text().splitlines(keepends=True), units=units)


@pytest.mark.parametrize("name", FILES)
def test_every_layout_gives_the_same_days(name):
    days = list(read(name).days())

    assert len(days) == len(SOUND_DAYS)
    assert set(days) == SOUND_DAYS


@pytest.mark.parametrize("name", FILES)
def test_every_defect_is_told_by_its_line(name):
    station_file = read(name)
    list(station_file.days())

    problems = station_file.report.problems
    assert sorted((p.line_number, p.field) for p in problems) == sorted(PROBLEMS[name])
    assert station_file.report.problem_count == len(problems)
    assert all(p.detail and p.remedy and p.excerpt for p in problems)


@pytest.mark.parametrize("name", FILES)
def test_every_line_and_value_is_accounted_for(name):
    station_file = read(name)
    list(station_file.days())

    report = station_file.report
    assert (
        report.lines_read, report.lines_passed_over, report.values_accepted,
        report.values_missing, report.values_repeated,
    ) == COUNTS[name]  # fmt: skip


@pytest.mark.parametrize("name", FILES)
def test_the_first_line_shows_the_layout(name):
    first_line = (DATA / name).read_text().splitlines()[0]

    assert detect_layout(first_line) is FILES[name][0]
    assert read(name).layout is FILES[name][0]


def test_element_lines_may_have_a_header_and_a_byte_order_mark():
    header = "\ufeffID,DATE,ELEMENT,DATA_VALUE,M_FLAG,Q_FLAG,S_FLAG,OBS_TIME\n"

    assert values_of([header, element_line()]) == [30.0]


def test_an_ordered_file_with_attributes_is_not_taken_for_an_access_file():
    header = "STATION,NAME,LATITUDE,LONGITUDE,ELEVATION,DATE,TMAX,TMAX_ATTRIBUTES"

    assert detect_layout(header) is Layout.DAILY_SUMMARIES


def test_an_older_order_names_its_network_and_writes_days_without_hyphens():
    lines = [ORDERED_HEADER, f"GHCND:{STATION},X,20210610,30.0"]

    (value,) = read_station_file(lines, units="metric").values()
    assert value == (2, STATION, dt.date(2021, 6, 10), "TMAX", 30.0)


@pytest.mark.parametrize("line", ["", "day,rain\n", "\x00", "<html>"])
def test_refuses_a_file_of_no_known_layout(line):
    with pytest.raises(InvalidInputError) as refusal:
        read_station_file([line])

    assert refusal.value.code == "unknown-layout"


@pytest.mark.parametrize(
    "header", ["STATION,NAME,DATE", "STATION,DATE,TMAX,TMAX", "STATION,TMAX", ""]
)
def test_refuses_a_table_without_the_columns_it_needs(header):
    with pytest.raises(InvalidInputError) as refusal:
        read_station_file([header], Layout.DAILY_SUMMARIES, "metric")

    assert refusal.value.code == "wrong-header"


def test_refuses_an_ordered_file_whose_units_nobody_named():
    with pytest.raises(InvalidInputError) as refusal:
        read_station_file([ORDERED_HEADER])

    assert refusal.value.code == "units-needed"


def test_refuses_units_for_a_layout_that_fixes_them():
    with pytest.raises(InvalidInputError) as refusal:
        read_station_file([element_line()], units="metric")

    assert refusal.value.code == "units-not-wanted"


@pytest.mark.parametrize("day", ["20210229", "2021061", "00010101", "2021-0610", "٢٠٢١٠٦١٠"])
def test_an_impossible_date_is_refused(day):
    assert only_problem([element_line(day=day)], layout=Layout.BY_STATION).field == "date"


def test_a_day_to_come_is_refused():
    lines = [element_line(day="20210610"), element_line(day="20210611")]

    problem = only_problem(lines, last_date=dt.date(2021, 6, 10))

    assert (problem.line_number, problem.field) == (2, "date")


def test_an_over_long_line_is_refused_and_the_next_one_read():
    long_line = element_line(flags=",," + "7" * LINE_LIMIT_CHARS)
    station_file = read_station_file([long_line, element_line()])

    assert [value.line_number for value in station_file.values()] == [2]
    (problem,) = station_file.report.problems
    assert len(problem.excerpt) == EXCERPT_CHARS


def test_a_blank_line_is_read_and_is_no_problem():
    station_file = read_station_file([element_line(), "\n", "  ", ""])

    assert len(list(station_file.values())) == 1
    assert (station_file.report.lines_read, station_file.report.problem_count) == (4, 0)


def test_an_open_quote_does_not_swallow_the_lines_below():
    row = f'"{STATION}","2021-06-1{{}}","40.0","300",",,7"'

    values = values_of([ACCESS_HEADER, row.format(0)[:-1], row.format(1)])

    assert values == [30.0]


def test_a_month_line_may_have_lost_its_last_blanks():
    line = f"{STATION}202107TMAX" + "-9999   " * 30 + "  300"

    assert values_of([line]) == [30.0]


def test_only_the_first_problems_are_kept_but_all_are_counted():
    station_file = read_station_file([element_line()] + [element_line(value="x")] * 150)
    list(station_file.values())

    assert len(station_file.report.problems) == PROBLEMS_KEPT
    assert station_file.report.problem_count == 150


def test_an_excerpt_has_no_control_characters():
    assert "\x00" not in only_problem([element_line(), "broken\x00line"]).excerpt


@given(
    lines=st.lists(st.text(max_size=60) | st.builds(element_line, value=st.text(max_size=6))),
    opening=st.sampled_from(
        [
            (element_line(), None),
            (element_line(), Layout.DLY),
            (ACCESS_HEADER, None),
            (ACCESS_HEADER, Layout.BY_STATION),
        ]
    ),
)
def test_no_text_stops_the_reader(lines, opening):
    first_line, named = opening
    lines = [first_line, *lines]

    station_file = read_station_file(iter(lines), named)
    days = list(station_file.days())

    assert station_file.report.lines_read == len(lines)
    assert len(days) <= station_file.report.values_accepted


@given(st.text(max_size=300))
def test_no_first_line_stops_the_detection(line):
    try:
        assert detect_layout(line) in Layout
    except InvalidInputError as refusal:
        assert refusal.code in {"unknown-layout", "invalid"}
