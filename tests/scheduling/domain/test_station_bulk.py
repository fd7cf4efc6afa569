"""Reading in bulk gives what reading line by line gives, on every file."""

import datetime as dt
from dataclasses import asdict

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduling.domain.station_checks import HIGHEST, LOWEST
from scheduling.domain.station_days import ELEMENTS
from scheduling.domain.station_files import read_station_blocks
from scheduling.domain.station_values import MEASURED, Layout

LAST_DATE = dt.date(2021, 6, 12)
WANTED = frozenset({"ZZTEST00001", "ZZTEST00002"})
FIRST_LINE = {
    Layout.BY_STATION: "ZZTEST00001,20200229,TMAX,300,,,7,0700",
    Layout.DLY: "ZZTEST00001202002TMAX" + "  300  7" * 29 + "-9999   " * 2,
}


def read(text, layout, *, in_bulk):
    """Return the days and all of the report."""
    blocks = [text.encode()] if isinstance(text, str) else text
    file = read_station_blocks(blocks, layout, last_date=LAST_DATE, wanted=WANTED)
    days = sorted(file.days(in_bulk=in_bulk), key=lambda day: day[:2])
    report = asdict(file.report)
    report["problems"] = sorted(map(str, report["problems"]))
    return days, report


stations = st.sampled_from([*sorted(WANTED), "ZZTEST00009", "zztest00001", "ZZ1"])
elements = st.sampled_from([*ELEMENTS, "SNOW", "WT01", "tmax", "TM"])
dates = st.one_of(
    st.dates(dt.date(1749, 12, 1), dt.date(2021, 6, 20)).map("{:%Y%m%d}".format),
    st.dates(dt.date(2021, 5, 30), dt.date(2021, 6, 14)).map("{:%Y%m%d}".format),
    st.sampled_from(["20210230", "20200229", "19000229", "20211301", "2021061", "00000000"]),
)
amounts = st.one_of(
    st.integers(-100, 400).map(str),
    st.integers(-30_000, 30_000).map(str),
    st.sampled_from(["-9999", "", "-", "+5", "007", "1.5", " 12", "123456", "9x", "--1"]),
)
flags = st.sampled_from(["", "", "", "T", "A", "P", " ", "GG"])
lines = st.builds(
    "{},{},{},{},{},{},7,0700{}".format, stations, dates, elements, amounts, flags,
    st.sampled_from(["", "", "", "", "I", " ", "XX"]),
    st.sampled_from(["", "", " ", "\r", ",", '"']),
)  # fmt: skip


@settings(max_examples=80, deadline=None)
@given(st.lists(lines, max_size=25), st.booleans())
def test_element_lines_in_bulk_are_as_one_by_one(some, has_last_end):
    text = "\n".join([FIRST_LINE[Layout.BY_STATION], *some]) + "\n"

    assert read(text, Layout.BY_STATION, in_bulk=True) == read(
        text, Layout.BY_STATION, in_bulk=False
    )


cells = st.one_of(
    st.builds("{:>5}{}{}7".format, st.integers(-99, 400), st.sampled_from("  TA"), st.just(" ")),
    st.sampled_from(
        ["-9999   "] * 3 + ["  3x0  7", "-  30  7", "       7", "  300 I7", "30   é 7"]
    ),
)
months = st.builds(
    "{}{}{}{}{}".format, stations.filter(lambda code: len(code) == 11),
    st.sampled_from(["202106", "202102", "202002", "202113", "174912", "190002", "20x106"]),
    elements.filter(lambda code: len(code) == 4),
    st.lists(cells, min_size=31, max_size=31).map("".join),
    st.sampled_from(["", "", "\r", " ", "9"]),
)  # fmt: skip


@settings(max_examples=80, deadline=None)
@given(st.lists(months, max_size=4), st.sampled_from(ELEMENTS), st.integers(20, 31))
def test_month_lines_in_bulk_are_as_one_by_one(some, element, days):
    good = f"ZZTEST00002202101{element}" + "  120  7" * days + "-9999   " * (31 - days)
    text = "\n".join([FIRST_LINE[Layout.DLY], good, *some]) + "\n"

    assert read(text, Layout.DLY, in_bulk=True) == read(text, Layout.DLY, in_bulk=False)


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from([Layout.BY_STATION, Layout.DLY]),
    st.binary(max_size=4),
    st.integers(0, 300),
)
def test_a_corrupted_file_never_breaks_and_never_gives_what_cannot_be(layout, junk, at):
    text = (FIRST_LINE[layout] + "\n").encode() * 3
    start = len(FIRST_LINE[layout]) + 1
    corrupt = text[: start + at] + junk + text[start + at + len(junk) :]
    corrupt = corrupt.rstrip(b"\n") + b"\n"

    days, report = read([corrupt], layout, in_bulk=True)

    assert (days, report) == read([corrupt], layout, in_bulk=False)
    for day in days:
        for element, name in zip(ELEMENTS, MEASURED, strict=True):
            amount = getattr(day, name)
            assert amount is None or LOWEST[element] <= amount <= HIGHEST[element]


REGULAR = "ZZTEST00001,20210610,PRCP,12,,,7,0700"
ONE_THING_CHANGED = [
    (0.0, "12,T"), (None, "12,A"), (1.2, "12,P"), (None, "12,,I"), (None, "12,T,X"),
    (1.2, "12,, "), (None, "-1"), (None, "20001"), (None, "-9999"), (0.0, "-0"), (1.2, "+12"),
    (1.2, "0012"), (None, "1x"), (None, ""), (None, "12,TT,G"),
]  # fmt: skip


@pytest.mark.parametrize(("rain_mm", "value"), ONE_THING_CHANGED)
def test_one_odd_thing_in_a_line_is_judged_alike(rain_mm, value):
    rest = value + "," * (2 - value.count(","))
    text = f"{REGULAR.replace('0610', '0609')}\nZZTEST00001,20210610,PRCP,{rest},7,0700\n"

    days, report = read(text, Layout.BY_STATION, in_bulk=True)

    assert [day.rain_mm for day in days[1:]] == ([] if rain_mm is None else [rain_mm])
    assert (days, report) == read(text, Layout.BY_STATION, in_bulk=False)


@pytest.mark.parametrize(
    ("rain_mm", "cell"),
    [
        (1.2, "   12  7"), (0.0, "   12T 7"), (None, "   12A 7"), (1.2, "   12P 7"),
        (None, "   12 I7"), (None, "   -1  7"), (None, "20001  7"), (None, "-9999   "),
        (None, "  1 2  7"), (None, "    -  7"), (1.2, "00012  7"),
    ],
)  # fmt: skip
def test_one_odd_thing_in_a_month_is_judged_alike(rain_mm, cell):
    text = "ZZTEST00001202002PRCP" + "    3  7" * 28 + cell + "-9999   " * 2 + "\n"

    days, report = read(text, Layout.DLY, in_bulk=True)

    assert [day.rain_mm for day in days[28:]] == ([] if rain_mm is None else [rain_mm])
    assert (days, report) == read(text, Layout.DLY, in_bulk=False)
    assert len(days) >= 28


def test_what_is_of_other_stations_is_counted_alike():
    month = "ZZTEST00009202002TMAX" + "  300  7" * 20 + "-9999   " * 11
    text = f"{FIRST_LINE[Layout.DLY]}\n{month}\n"

    _, report = read(text, Layout.DLY, in_bulk=True)

    assert report["unwanted_values"] == 29  # February of a leap year (calendar)
    assert report == read(text, Layout.DLY, in_bulk=False)[1]


@pytest.mark.parametrize("layout", FIRST_LINE)
def test_regular_lines_are_not_left_to_the_slow_reader(layout, monkeypatch):
    text = FIRST_LINE[layout] + "\n"
    file = read_station_blocks([text.encode() * 50], layout, last_date=LAST_DATE)
    monkeypatch.setattr(file, "_values_of", None)  # calling it would break

    (*_, last) = file.days()

    assert last.tmax_c == 30.0
    assert file.report.problem_count == 0


def test_blocks_may_end_after_any_line():
    lines = [
        f"ZZTEST00001,202106{day:02},{element},{day * 10},,,7,0700\n".encode()
        for element in ("TMAX", "TMIN", "SNOW", "PRCP")
        for day in range(1, 13)
    ]
    whole = read([b"".join(lines)], Layout.BY_STATION, in_bulk=True)

    assert read(lines, Layout.BY_STATION, in_bulk=True) == whole
    assert len(whole[0]) == 12
    assert whole[1]["lines_passed_over"] == 12
