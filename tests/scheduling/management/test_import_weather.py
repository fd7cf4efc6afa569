"""The command that imports a station file."""

from __future__ import annotations

import gzip
import os
import re
from io import StringIO
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command

from scheduling.models import WeatherDay
from tests import cast

DATA = Path(__file__).parents[1] / "data"
FIXTURE = settings.BASE_DIR / "fixtures" / "weather" / "ZZDEMO00001.csv.gz"


@pytest.fixture
def bare(company):
    return cast.make_station()


def run(path, **options):
    out = StringIO()
    call_command("import_weather", str(path), stdout=out, **options)
    return out.getvalue()


# 20 years of 365 or 366 days, of which 5 are leap years: 7,305 days of three values.
def test_the_demos_twenty_years_go_in_whole_and_only_once(company):
    cast.make_station(code="ZZDEMO00001")

    first, second = run(FIXTURE), run(FIXTURE)

    assert "21915 lines read, 21915 values accepted." in first
    assert "Days: 7305 added, 0 changed, 0 unchanged." in first
    assert "Days: 0 added, 0 changed, 7305 unchanged." in second
    assert WeatherDay.objects.filter(et0_mm__gte=0).count() == 7305


@pytest.mark.parametrize(
    ("name", "options"),
    [
        ("by_station.csv", {}),
        ("by_station.csv", {"layout": "by-station"}),
        ("access.csv", {}),
        ("month_lines.dly", {}),
        ("daily_summaries_metric.csv", {"units": "metric"}),
        ("daily_summaries_standard.csv", {"units": "standard"}),
    ],
)
@pytest.mark.parametrize("is_packed", [False, True])
def test_every_layout_plain_and_packed(bare, tmp_path, name, options, is_packed):
    path = DATA / name
    if is_packed:
        path = tmp_path / f"{name}.gz"
        path.write_bytes(gzip.compress((DATA / name).read_bytes()))

    said = run(path, **options)

    assert "Days: 4 added, 0 changed, 0 unchanged." in said
    assert WeatherDay.objects.count() == 4


def test_refused_lines_are_told_by_number_field_and_remedy(bare):
    said = run(DATA / "by_station.csv")

    (line,) = [line for line in said.splitlines() if line.startswith("Line 6, TMIN:")]
    assert "'15x' is not a number. Write" in line
    assert "[ZZTEST00001,20210611,TMIN,15x,,,7,0700]" in line
    assert "Dropped for quality flag I: 1." in said


def test_many_refusals_are_told_by_their_number(bare, tmp_path):
    path = tmp_path / "days.csv"
    good = "ZZTEST00001,20210610,PRCP,1,,,7,0700\n"
    path.write_text(good + "nonsense\n" * 130)

    assert "... and 30 more lines refused." in run(path)


def test_unregistered_stations_are_told(bare, tmp_path):
    path = tmp_path / "days.csv"
    path.write_text("".join(
        f"{code},20210610,PRCP,1,,,7,0700\n" for code in ("ZZTEST00001", "ZZTEST00009")
    ))  # fmt: skip

    assert "Station ZZTEST00009 is not registered (or not asked for): 1 values left out." in run(
        path
    )


def test_contradictions_with_what_is_stored_are_told(bare, tmp_path):
    path = tmp_path / "days.csv"
    for lines in (("TMIN,200", "TMAX,300"), ("TMAX,100",)):
        path.write_text("".join(f"ZZTEST00001,20210610,{line},,,7,\n" for line in lines))
        said = run(path)

    assert "Days whose values contradict stored ones: 1." in said


def packed():
    return gzip.compress((DATA / "by_station.csv").read_bytes() * 200)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (packed()[:-40], "ends in the middle"),
        (packed()[:60] + bytes(40) + packed()[100:], "is damaged"),
        (b"\x1f\x8bnot really packed", "is damaged"),
        (b"ZZTEST00001,20210610,PRCP,1,,,7,\n", "says gzip, but"),
        (gzip.compress(b"ZZTEST00001,20210610,PRCP,1,,,7,\n\xff\xfe\xfa\n"), "Line 2 is not text"),
        (gzip.compress(bytes(40 << 20)), "more than 200 times"),
        (gzip.compress("ZZTEST00001,20210610,PRCP,1,,,7,\n".encode("utf-16")), "UTF-16"),
        (b"", "is empty"),
        (gzip.compress(b""), "no known station layout"),
    ],
)
def test_a_file_that_cannot_be_read_stores_nothing(bare, tmp_path, content, words):
    path = tmp_path / "days.csv.gz"
    path.write_bytes(content)

    with pytest.raises(CommandError, match=rf"days\.csv\.gz: .*{words}.* Nothing was stored"):
        run(path)

    assert not WeatherDay.objects.exists()


def test_a_file_that_is_not_there(bare, tmp_path):
    with pytest.raises(CommandError, match="cannot be read"):
        run(tmp_path / "nowhere.csv")


@pytest.mark.parametrize(
    ("text", "options", "words"),
    [
        ("hello\n", {}, "known station layout"),
        ("STATION,NAME,DATE,TMAX\n", {}, "does not say whether"),
        ("ZZTEST00001,20210610,PRCP,1,,,7,\n", {"units": "metric"}, "fixes its own units"),
        ("ZZTEST00009,20210610,PRCP,1,,,7,\n", {}, "is registered"),
    ],
)
def test_a_refused_file_says_why_and_stores_nothing(bare, tmp_path, text, options, words):
    path = tmp_path / "days.csv"
    path.write_text(text)

    with pytest.raises(CommandError, match=rf"{words}.* Nothing was stored\.$"):
        run(path, **options)

    assert not WeatherDay.objects.exists()


def test_a_line_without_end_is_never_held_whole(bare, tmp_path):
    path = tmp_path / "days.csv"
    path.write_text("ZZTEST00001,20210610,PRCP,1,,,7,0700\n" + "9" * 50_000)

    said = run(path)

    assert "Days: 1 added" in said
    assert "longer than 8192 characters" in said


def test_the_bar_is_drawn_on_a_terminal_only(bare, tmp_path, monkeypatch):
    path = tmp_path / "days.csv"
    path.write_text("ZZTEST00001,20210610,PRCP,1,,,7,0700\n" * 5000)
    err = StringIO()
    run(path, stderr=err)
    assert err.getvalue() == ""

    monkeypatch.setattr("sys.stderr.isatty", lambda: True)
    run(path, stderr=err)

    assert err.getvalue().endswith("[" + "#" * 30 + "] 100% days.csv\n")


def test_the_bar_moves_on_a_real_terminal_and_leaves_the_report_alone(bare, tmp_path, monkeypatch):
    path = tmp_path / "days.csv"
    path.write_text("ZZTEST00001,20210610,PRCP,1,,,7,0700\n" * 60_000)
    ours, theirs = os.openpty()
    with os.fdopen(theirs, "w") as terminal:
        monkeypatch.setattr("sys.stderr", terminal)
        said = run(path)
        drawn = os.read(ours, 10_000).decode()
    os.close(ours)

    # 60,000 lines of 37 characters are three pieces (arithmetic); a terminal adds a return.
    assert re.findall(r"\r\[[#.]{30}\] +(\d+)%", drawn) == ["47", "94", "100"]
    assert drawn.endswith("100% days.csv\r\n")
    assert "[#" not in said


def rain(code, *days):
    return "".join(f"{code},{day},PRCP,1,,,7,0700\n" for day in days)


def test_one_bad_file_of_many_does_not_undo_the_good_ones(bare, tmp_path):
    (tmp_path / "deep").mkdir()
    (tmp_path / "a.csv").write_text(rain(bare.code, "20210610"))
    (tmp_path / "b.csv").write_text("hello\n")
    (tmp_path / "deep" / "c.csv").write_text(rain(bare.code, "20210611"))
    (tmp_path / ".hidden").write_text("not looked at")
    out, err = StringIO(), StringIO()

    with pytest.raises(CommandError, match="1 of 3 files refused"):
        call_command("import_weather", str(tmp_path), stdout=out, stderr=err)

    assert WeatherDay.objects.count() == 2
    assert "b.csv: layout: The first line, 'hello'" in err.getvalue()
    assert "a.csv:\n1 lines read" in out.getvalue()
    assert "c.csv:\n1 lines read" in out.getvalue()


def test_a_folder_without_files_is_refused(bare, tmp_path):
    with pytest.raises(CommandError, match="No file is there"):
        run(tmp_path)


def test_one_station_of_a_file_of_many_is_taken(bare, tmp_path):
    other = cast.make_station(code="ZZTEST00002")
    path = tmp_path / "days.csv"
    path.write_text(rain(bare.code, "20210610") + rain(other.code, "20210610", "20210611"))

    said = run(path, station=other.code)

    assert list(WeatherDay.objects.values_list("station__code", flat=True)) == [other.code] * 2
    assert f"Station {bare.code} is not registered (or not asked for): 1 values left out." in said
    with pytest.raises(CommandError, match="ZZTEST00003 is not registered"):
        run(path, station="ZZTEST00003")


def test_gaps_repetitions_and_totals_of_several_days_are_told(bare, tmp_path):
    path = tmp_path / "days.csv"
    total = f"{bare.code},20210620,PRCP,300,A,,7,0700\n"
    path.write_text(rain(bare.code, "20210610", "20210610", "20210612", "20210616") + total)

    said = run(path)

    # Arithmetic: of the seven days from the 10th to the 16th, the 11th, 13th, 14th and 15th lack.
    assert (
        "ZZTEST00001: 3 days from 2021-06-10 to 2021-06-16, 4 missing (longest gap 3 days)." in said
    )
    assert "Repeated word for word: 1 values." in said
    assert "Rain of several days in one total, left out: 1 values." in said
