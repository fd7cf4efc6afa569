"""Import of a million values of daily weather, in every layout, against COPY of the raw lines.

    export DATABASE_URL=postgres://postgres@127.0.0.1:5432/<database>
    python -m tests.benchmarks.weather_import

Makes a test database beside the one named, and drops it again. For each kind of file it prints, of
a first import and of a second, which changes nothing, the seconds and three ratios:

- to COPY of the file's own lines into a temporary table (one column a field; one for month lines);
- to COPY of the same values as element lines, one a line. The budget of ten times is held against
  this: for element lines both are the same, but a month line holds 31 values, and ten times the
  COPY of such a file is less than the database takes to store its days;
- to that least: INSERT of the finished rows out of a temporary table, with the indexes and
  constraints of the days.

The peak of memory is that of all so far.
"""

from __future__ import annotations

import argparse
import csv
import datetime as dt
import os
import resource
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import django

BUDGET = 10
STATIONS = 10
FIRST = dt.date(1930, 1, 1)
NOW = dt.datetime(2026, 6, 10, 15, 0, tzinfo=dt.UTC)
BLOCK_BYTES = 1 << 20

# What a day of each kind of file has; a volunteer reads three gauges, an airport eight and snow.
ELEMENTS = {
    "three elements": ("TMAX", "TMIN", "PRCP"),
    "all elements": (
        "TMAX", "TMIN", "PRCP", "SNOW", "SNWD", "AWND", "ADPT", "RHAV", "RHMN", "RHMX",
    ),
}  # fmt: skip


def codes() -> list[str]:
    return [f"ZZBENCH{number:04}" for number in range(STATIONS)]


def amount(element: str, day: int, station: int) -> int:
    """Return a plain number in tenths or percent that differs from day to day."""
    wave = (day * 37 + station * 11) % 100
    return {
        "TMAX": 180 + wave, "TMIN": 60 + wave, "PRCP": wave if wave > 70 else 0, "SNOW": 0,
        "SNWD": 0, "AWND": 10 + wave // 2, "ADPT": 50 + wave, "RHAV": 50, "RHMN": 30 + wave // 10,
        "RHMX": 70 + wave // 5,
    }[element]  # fmt: skip


def element_line(station: int, day: int, element: str) -> str:
    date = (FIRST + dt.timedelta(days=day)).strftime("%Y%m%d")
    flag = "T" if element == "PRCP" and day % 29 == 0 else ""
    return f"{codes()[station]},{date},{element},{amount(element, day, station)},{flag},,7,0700\n"


def by_station(elements: tuple[str, ...], days: int) -> Iterator[str]:
    """One station after the other, the days of a year by element: TMAX stands far from TMIN."""
    for station in range(STATIONS):
        for start in range(0, days, 366):
            for element in elements:
                for day in range(start, min(start + 366, days)):
                    yield element_line(station, day, element)


def by_element(elements: tuple[str, ...], days: int) -> Iterator[str]:
    """All days of all stations for one element, then the next: the worst order to fold."""
    for element in elements:
        for day in range(days):
            for station in range(STATIONS):
                yield element_line(station, day, element)


def month_lines(days: int) -> Iterator[str]:
    """The same by months in fixed width, three elements."""
    for station, code in enumerate(codes()):
        month = FIRST
        while (month - FIRST).days < days:
            following = (month + dt.timedelta(days=32)).replace(day=1)
            for element in ELEMENTS["three elements"]:
                cells = [
                    f"{amount(element, (month - FIRST).days + day, station):5}  7"
                    if day < (following - month).days
                    else "-9999   "
                    for day in range(31)
                ]
                yield f"{code}{month:%Y%m}{element}{''.join(cells)}\n"
            month = following


def access_lines(days: int) -> Iterator[str]:
    """The same with one day a line, quoted and with attributes."""
    names = [f'"{name}","{name}_ATTRIBUTES"' for name in ELEMENTS["three elements"]]
    yield f'"STATION","DATE","LATITUDE",{",".join(names)}\n'
    for station, code in enumerate(codes()):
        for day in range(days):
            cells = [f'"{amount(e, day, station):5}",",,7"' for e in ELEMENTS["three elements"]]
            yield f'"{code}","{FIRST + dt.timedelta(days=day)}","40.0",{",".join(cells)}\n'


def ordered_lines(days: int) -> Iterator[str]:
    """The same as ordered in metric units, neither quoted nor with attributes."""
    elements = ELEMENTS["three elements"]
    yield f"STATION,NAME,DATE,{','.join(elements)}\n"
    for station, code in enumerate(codes()):
        for day in range(days):
            cells = ",".join(f"{amount(e, day, station) / 10:.1f}" for e in elements)
            yield f"{code},FIELD,{FIRST + dt.timedelta(days=day)},{cells}\n"


def write(path: Path, lines: Iterator[str], most: int) -> int:
    count = 0
    with path.open("w", encoding="ascii") as file:
        for count, line in enumerate(lines, start=1):
            file.write(line)
            if count == most:
                break
    return count


def pieces(path: Path) -> Iterator[bytes]:
    with path.open("rb") as file:
        while piece := file.read(BLOCK_BYTES):
            yield piece


def floor_seconds(path: Path) -> float:
    """COPY the lines as they are: a column for each field if they have any, else one."""
    from django.db import connection, transaction

    with path.open(encoding="ascii") as file:
        fields = len(next(csv.reader(file)))
    columns = ", ".join(f"c{number} text" for number in range(fields))
    start = time.perf_counter()
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(f"CREATE TEMPORARY TABLE raw ({columns}) ON COMMIT DROP")
        with cursor.copy("COPY raw FROM STDIN (FORMAT csv)") as copy:
            for piece in pieces(path):
                copy.write(piece)
    return time.perf_counter() - start


def least_seconds() -> float:
    """Store the days that are there once more, all else undone: what no import can be below."""
    from django.db import connection, transaction

    from scheduling.models import WeatherDay

    table = WeatherDay._meta.db_table
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(f"CREATE TEMPORARY TABLE kept ON COMMIT DROP AS SELECT * FROM {table}")
        cursor.execute(f"TRUNCATE {table} CASCADE")
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
        start = time.perf_counter()
        cursor.execute(f"INSERT INTO {table} SELECT * FROM kept")
        seconds = time.perf_counter() - start
        transaction.set_rollback(True)
    return seconds


def timed_import(path: Path) -> tuple[float, str]:
    from scheduling.domain.station_bytes import whole_lines
    from scheduling.services.weather import import_station_blocks

    start = time.perf_counter()
    units: Any = "metric" if path.stem.startswith("ordered") else None
    report = import_station_blocks(whole_lines(pieces(path)), units=units, now=NOW)
    seconds = time.perf_counter() - start
    counts = f"{report.days_added} added, {report.days_changed} changed,"
    return seconds, f"{counts} {report.days_unchanged} unchanged"


def peak_mb() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def measure(path: Path, lines: int, as_elements: Path) -> float:
    """Print the ratios and return the larger to the budget's floor.

    Floors are medians of runs before and after each import.
    """
    from scheduling.models import WeatherDay

    WeatherDay.objects.all().delete()
    print(f"\n{path.stem}: {lines} lines, {path.stat().st_size / 2**20:.0f} MB")
    ratios = []
    for which in ("first import", "second import"):
        floors = [(floor_seconds(path), floor_seconds(as_elements)) for _ in range(3)]
        seconds, counts = timed_import(path)
        floors += [(floor_seconds(path), floor_seconds(as_elements)) for _ in range(3)]
        own, floor = (statistics.median(column) for column in zip(*floors, strict=True))
        ratios.append(seconds / floor)
        print(
            f"  {which:13} {seconds:6.2f} s = {seconds / own:5.1f} x COPY of its lines"
            f" ({own:.2f} s), {seconds / floor:4.1f} x COPY as element lines ({floor:.2f} s),"
            f" {seconds / least_seconds():4.1f} x the INSERT alone  {lines / seconds:8.0f} lines/s"
            f"  {counts}"
        )
    print(f"  peak memory so far {peak_mb():.0f} MB")
    return max(ratios)


def files(lines: int) -> dict[str, Callable[[], Iterator[str]]]:
    """Return the kinds of files by name; days are counted so that there are `lines` values."""
    three, everything = ELEMENTS["three elements"], ELEMENTS["all elements"]
    days = lines // STATIONS // len(three) + 1
    days_of_all = lines // STATIONS // len(everything) + 1
    return {
        "element lines, three, by station": lambda: by_station(three, days),
        "element lines, three, by element": lambda: by_element(three, days),
        "element lines, all ten, by station": lambda: by_station(everything, days_of_all),
        "month lines, three elements": lambda: month_lines(days),
        "access lines, three elements": lambda: access_lines(days),
        "ordered lines, three elements": lambda: ordered_lines(days),
    }


def run(lines: int) -> int:
    from tests import cast

    cast.make_company()
    for number, code in enumerate(codes()):
        cast.make_station(code=code, latitude=30.0 + number)
    print(f"memory before anything is read: {peak_mb():.0f} MB")
    over = []
    with tempfile.TemporaryDirectory() as folder:
        first = Path(folder) / f"{next(iter(files(lines)))}.txt"
        for name, make in files(lines).items():
            path = Path(folder) / f"{name}.txt"
            count = write(path, make(), lines)
            as_elements = path if name.startswith("element") else first
            if measure(path, count, as_elements) > BUDGET:
                over.append(name)
    print(f"\nbudget {BUDGET} x: {'missed by ' + '; '.join(over) if over else 'kept'}")
    return bool(over)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--lines", type=int, default=1_000_000)
    arguments = parser.parse_args()
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings.test")
    django.setup()
    from django.db import connection

    if connection.vendor != "postgresql":
        print("Name a PostgreSQL database in DATABASE_URL.")
        return 2
    name = connection.settings_dict["NAME"]
    connection.creation.create_test_db(verbosity=0, autoclobber=True, serialize=False)
    try:
        return run(arguments.lines)
    finally:
        connection.creation.destroy_test_db(name, verbosity=0)


if __name__ == "__main__":
    sys.exit(main())
