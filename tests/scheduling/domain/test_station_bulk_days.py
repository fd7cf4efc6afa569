"""Reading day tables in bulk gives what reading line by line gives, on every file."""

import datetime as dt
from dataclasses import asdict

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from properties.domain.errors import InvalidInputError
from scheduling.domain.station_checks import HIGHEST, LOWEST
from scheduling.domain.station_days import ELEMENTS
from scheduling.domain.station_files import read_station_blocks
from scheduling.domain.station_values import MEASURED, Layout

LAST_DATE = dt.date(2021, 6, 12)
WANTED = frozenset({"ZZTEST00001", "ZZTEST00002"})
ACCESS = (
    '"STATION","DATE","LATITUDE","NAME","PRCP","PRCP_ATTRIBUTES","SNOW","TMAX","TMAX_ATTRIBUTES",'
    '"RHMX"\n'
)
ORDERED = "NAME,STATION,DATE,TMAX,TMIN,PRCP,AWND\n"
UNITS = {Layout.ACCESS: (None,), Layout.DAILY_SUMMARIES: ("metric", "standard")}
HEADER = {Layout.ACCESS: ACCESS, Layout.DAILY_SUMMARIES: ORDERED}


def read(content, layout, units, *, in_bulk, cut=None):
    """Return the days, all of the report, and what is thought of the units."""
    size = cut or len(content)
    blocks = [content[start : start + size] for start in range(0, len(content), size)]
    file = read_station_blocks(blocks, layout, units, last_date=LAST_DATE, wanted=WANTED)
    days = sorted(file.days(in_bulk=in_bulk), key=lambda day: day[:2])
    report = asdict(file.report)
    report["problems"] = sorted(map(str, report["problems"]))
    try:
        doubt = file.check_units()
    except InvalidInputError as refusal:
        doubt = refusal.detail
    return days, report, doubt


def assert_alike(text, layout):
    content = text if isinstance(text, bytes) else text.encode()
    for units in UNITS[layout]:
        in_bulk = read(content, layout, units, in_bulk=True)
        assert in_bulk == read(content, layout, units, in_bulk=False)
        for day in in_bulk[0]:
            for element, name in zip(ELEMENTS, MEASURED, strict=True):
                amount = getattr(day, name)
                assert amount is None or LOWEST[element] <= amount <= HIGHEST[element]


def usually(good, *odd):
    """Draw the odd ones seldom, so that whole lines are regular as often as not."""
    return st.integers(0, 19).flatmap(lambda n: st.sampled_from(odd) if n == 0 else good)


stations = usually(
    st.sampled_from(sorted(WANTED)), "ZZTEST00009", "GHCND:ZZTEST00001", "zztest00001", "", "ZZ1",
    " ZZTEST00001", "GHCND:GHCND:ZZTEST00001", "ZZTEST000012",
)  # fmt: skip
dates = usually(
    st.dates(dt.date(2021, 1, 1), dt.date(2021, 6, 12)).map(str),
    "20210610", "2021-0610", "202106-10", "2021-02-29", "2020-02-29", "1900-02-29", "1749-01-01",
    "1750-01-01", "2021-06-13", "6/12/2021", "2021-13-01", "", " 2021-06-10", "2021-06-1x",
)  # fmt: skip
tenths = usually(
    st.integers(-99, 400).map("{:5}".format), "", "-9999", "   12", "12", "012", "-", "+5", "1.5",
    "1234567", "0000012", "20001", "1 2", "- 12", "12 ", "x", "-09999", "-0", "é", "-9999.0", "  ",
)  # fmt: skip
decimals = usually(
    st.decimals(-20, 90, places=1, allow_nan=False, allow_infinity=False).map(str),
    "", "-9999", "-9999.0", "50", ".5", "-.5", "5.", "1.2.3", "0.125", "0.0005", "0.00050", "1e3",
    "12345678.9", "999.99", "nan", "59.0", "  7.25", "--1", "-", ".", "é", "0.0015", "150.0",
)  # fmt: skip
attributes = usually(
    st.sampled_from(["", ",,7", "T,,7,0700", "P,,7", ",,?"]), "A,,7", ",G,7", "T,X", " ,,7",
    ", ,7", "T", "TT,,7", ",", ",,,,", ",,7,0700,x", "T,", "\u00e9,,7", ",GG,7",
)  # fmt: skip
ends = usually(st.just(""), "\r", " ", ",", '"', "\r\r", '"x"', '""', ",,")


def joined(quote, fields, end):
    return ",".join(f"{quote}{field}{quote}" for field in fields) + end


quotes = usually(st.just('"'), "", "'")
names = usually(st.just("TEST FIELD, ZZ"), "", "größe", 'a""b', 'a"b', "a\rb", "a\x00b", "\x85")
access_lines = st.builds(
    joined, quotes,
    st.tuples(stations, dates, st.just("40.0"), names, tenths, attributes, tenths, tenths,
              attributes, tenths),
    ends,
)  # fmt: skip
ordered_lines = st.builds(
    joined, st.sampled_from(["", '"']),
    st.tuples(usually(st.just("FIELD"), "", " ", "a\rb", "\xa0", 'a"b'), stations, dates, decimals,
              decimals, decimals, decimals),
    ends,
)  # fmt: skip
LINES = {Layout.ACCESS: access_lines, Layout.DAILY_SUMMARIES: ordered_lines}


@settings(max_examples=250, deadline=None)
@given(st.lists(access_lines, min_size=1, max_size=12))
@example([joined('"', ["ZZTEST00009", "2021-06-10", "", "", "", "", "", "3", ",,7", ""], "")])
def test_access_lines_in_bulk_are_as_one_by_one(lines):
    assert_alike(ACCESS + "\n".join(lines) + "\n", Layout.ACCESS)


@settings(max_examples=250, deadline=None)
@given(st.lists(ordered_lines, min_size=1, max_size=12))
def test_ordered_lines_in_bulk_are_as_one_by_one(lines):
    assert_alike(ORDERED + "\n".join(lines) + "\n", Layout.DAILY_SUMMARIES)


REGULAR = {
    Layout.ACCESS: '"ZZTEST00001","2021-06-09","40.0","FIELD, ZZ","   12",",,7","    0","  300"'
    ',",,7","   80"\n',
    Layout.DAILY_SUMMARIES: '"FIELD, ZZ","ZZTEST00001","2021-06-09","50.0","41.5","0.25",""\n',
}


@settings(max_examples=200, deadline=None)
@given(st.sampled_from(list(REGULAR)), st.binary(max_size=4), st.integers(0, 130))
def test_a_corrupted_table_is_judged_alike(layout, junk, at):
    line = REGULAR[layout].encode()
    corrupt = line + line[:at] + junk + line[at + len(junk) :] + line
    content = HEADER[layout].encode() + corrupt.rstrip(b"\n") + b"\n"

    assert_alike(content, layout)


@pytest.mark.parametrize("layout", REGULAR)
def test_regular_lines_are_not_left_to_the_slow_reader(layout, monkeypatch):
    content = (HEADER[layout] + REGULAR[layout] * 50).encode()
    units = UNITS[layout][0]
    file = read_station_blocks([content], layout, units, last_date=LAST_DATE)
    monkeypatch.setattr(file, "_values_of", None)  # calling it would break

    (*_, last) = file.days()

    # As written in the lines: tenths in the one, metric units in the other.
    assert (last.tmax_c, last.rain_mm) == ((30.0, 1.2) if layout is Layout.ACCESS else (50.0, 0.25))
    assert (file.report.lines_read, file.report.problem_count) == (51, 0)


@pytest.mark.parametrize(
    ("units", "tmax", "rain"), [("metric", 35.0, 12.7), ("standard", 35.0, 12.7)]
)
def test_ordered_values_are_converted_exactly(units, tmax, rain):
    # 95 degF is 35 degC and half an inch 12.7 mm (arithmetic).
    said = {"metric": "35.0,,12.70", "standard": "95,,0.50"}[units]
    content = f"{ORDERED}X,ZZTEST00001,2021-06-10,{said},\n".encode()

    ((day,), report, _) = read(content, Layout.DAILY_SUMMARIES, units, in_bulk=True)

    assert (day.tmax_c, day.tmin_c, day.rain_mm) == (tmax, None, rain)
    assert report["values_missing"] == 2


def test_the_doubt_of_units_is_the_same_however_it_is_read():
    cold = "".join(f"X,ZZTEST00001,2021-05-{day:02},{day}.5,,,\n" for day in range(1, 31))
    hot = "".join(f"X,ZZTEST00001,2021-05-{day:02},{day + 70},,,\n" for day in range(1, 31))
    for text, units in ((cold, "standard"), (hot, "metric")):
        content = (ORDERED + text).encode()
        *_, doubt = read(content, Layout.DAILY_SUMMARIES, units, in_bulk=True)
        assert "the units of this file seem to be" in doubt
        assert doubt == read(content, Layout.DAILY_SUMMARIES, units, in_bulk=False)[2]


# Fifteen mm of four decimals are a half of a thousandth: only exact decimals round it rightly.
def test_a_value_on_the_half_is_left_to_the_careful_reader():
    content = f"{ORDERED}X,ZZTEST00001,2021-06-10,,,0.0005,\n".encode()

    assert_alike(content, Layout.DAILY_SUMMARIES)


@pytest.mark.parametrize(
    "line",
    [
        REGULAR[Layout.ACCESS].replace("   12", "0000012"),
        REGULAR[Layout.ACCESS].replace('"40.0"', "4\r0"),
        REGULAR[Layout.ACCESS].replace('"40.0"', "4\r0").replace(",", ",x\r"),
    ],
)
def test_an_odd_thing_in_a_line_is_judged_alike(line):
    assert_alike(ACCESS + line, Layout.ACCESS)
