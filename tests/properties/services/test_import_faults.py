"""A file of 5,000 rows of which 3 % have a fault: each is told, and nothing else."""

from __future__ import annotations

import time
import tracemalloc

import pytest

from properties.models import Property
from tests import cast
from tests.properties import import_files as files

pytestmark = pytest.mark.django_db
ROWS = 5000
CHUNK = ROWS // 10
HEADINGS = (
    "Reference,Customer no,Name,Address,City,Latitude,Longitude,Pressure (psi),Water source,"
    "Must be home,Backflow test\n"
)
# The kind of fault: what it makes of a row's cells, and in which column with which code it is told.
KINDS = {
    "no name": ({2: ""}, "C", "needed"),
    "no street": ({3: ""}, "D", "needed"),
    "unknown customer": ({1: "K-404"}, "B", "unknown-owner"),
    "latitude beyond the pole": ({5: "91.5"}, "F", "out-of-range"),
    "pressure in words": ({7: "high"}, "H", "not-a-number"),
    "unbelievable pressure": ({7: "5800"}, "H", "out-of-range"),
    "unknown water": ({8: "lemonade"}, "I", "not-a-choice"),
    "neither yes nor no": ({9: "perhaps"}, "J", "not-yes-or-no"),
    "no day": ({10: "2025-02-30"}, "K", "not-a-day"),
    "address of another row": ({3: "7 Elm St."}, "D", "alike-in-file"),
}
FAULTY = {index * 33 + 20: list(KINDS)[index % len(KINDS)] for index in range(150)}


def cells(number):
    row = [
        f"P-{number}", "K-1", f"Garden {number}", f"{number} Elm Street", "Tallgrass", "40.5",
        "-101.5", "58", "city", "no", "2026-04-01",
    ]  # fmt: skip
    for index, text in KINDS[FAULTY[number]][0].items() if number in FAULTY else ():
        row[index] = text
    return row


def whole_file():
    return HEADINGS + "".join(",".join(cells(number)) + "\n" for number in range(1, ROWS + 1))


@pytest.fixture
def client(company):
    cast.make_office()
    files.bring_in("Reference,Name\nK-1,Ingrid Holm\n")


@pytest.mark.usefixtures("client")
def test_every_fault_of_five_thousand_rows_is_told_by_cell_and_none_is_invented(
    django_assert_max_num_queries,
):
    text, start = whole_file(), time.perf_counter()
    with django_assert_max_num_queries(ROWS // 250 * 8 + 40):
        sheet = files.look(text, "properties")
    seconds = time.perf_counter() - start

    expected = [
        (f"{KINDS[kind][1]}{number + 1}", KINDS[kind][2]) for number, kind in sorted(FAULTY.items())
    ]
    assert len(expected) == 150 == ROWS * 3 // 100
    assert files.faults(sheet) == expected
    told = [fault for line in sheet.lines.all() for fault in line.faults]
    assert all(fault["detail"] and fault["remedy"] and fault["column"] for fault in told)
    assert (sheet.report["made"], sheet.report["refused"]) == (ROWS - 150, 150)
    assert not Property.objects.exists()
    print(f"\n{ROWS} rows looked at in {seconds:.1f} s, {len(told)} faults")


@pytest.mark.usefixtures("client")
def test_the_good_rows_are_written_once_and_a_second_import_changes_nothing():
    text = whole_file()
    tracemalloc.start()
    sheet = files.look(text, "properties")
    files.write(sheet, only_good_rows=True)
    peak_mb = tracemalloc.get_traced_memory()[1] / 2**20
    tracemalloc.stop()
    assert Property.objects.count() == ROWS - 150
    before = files.stored()

    again = files.look(text, "properties")
    files.write(again, only_good_rows=True)

    assert (again.report["unchanged"], again.report["made"], again.report["changed"]) == (
        ROWS - 150, 0, 0,
    )  # fmt: skip
    assert files.stored() == before
    print(f"\n{len(text) / 2**20:.2f} MB of rows, {peak_mb:.1f} MB held at the peak")
    assert peak_mb < 25


@pytest.mark.usefixtures("client")
def test_memory_hardly_grows_with_the_length_of_a_file():
    peaks = []
    for rows in (CHUNK, ROWS):
        lines = whole_file().splitlines(keepends=True)[: rows + 1]
        text = "".join(lines)
        del lines
        tracemalloc.start()
        files.look(text, "properties", ignores_unknown=True)
        peaks.append(tracemalloc.get_traced_memory()[1] / 2**20)
        tracemalloc.stop()

    print(f"\nheld at the peak: {peaks[0]:.1f} MB for {CHUNK} rows, {peaks[1]:.1f} for {ROWS}")
    assert peaks[1] < peaks[0] + 12
