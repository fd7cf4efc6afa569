"""Import of spreadsheets of each kind, against `bulk_create` of the same rows.

    export DATABASE_URL=postgres://postgres@127.0.0.1:5432/<database>
    python -m tests.benchmarks.spreadsheet_import

Makes a test database beside the one named, and drops it again. For each kind of file it prints the
seconds of the look and of the writing, of a first import and of a second that changes nothing, and
the ratio of all of the first to `bulk_create` of the same rows, made ready, in one transaction. The
budget is held against that; the import also checks each row, writes an event and a line of the
report for each, and keeps the file. Then it prints how memory grows with the length of a file.
"""

from __future__ import annotations

import argparse
import datetime as dt
import io
import os
import resource
import statistics
import sys
import time
import tracemalloc
from typing import Any

import django

BUDGET = 20
NOW = dt.datetime(2026, 6, 10, 15, 0, tzinfo=dt.UTC)


def rows_of(kind: str, count: int) -> str:
    """Return a file of so many rows, as an office would send it."""
    head = {
        "customers": "Reference,Name,E-mail,Phone,Relation,Wants notices,Consent note",
        "properties": "Reference,Customer no,Name,Address,City,State,ZIP,Latitude,Longitude,"
        "Pressure (psi),Flow (gpm),Access notes,Dog",
        "controllers": "Property no,Name,Location,Programs,Starts,Rain sensor",
        "zones": "Property no,Controller,Zone,Name,Area (sq ft),Heads,Plants,Soil,Slope,Exposure,"
        "Root depth (in)",
    }[kind]
    line = {
        "customers": "K-{0},Client {0},client{0}@mail.example,555-{0:07},owner,yes,on paper",
        "properties": 'P-{0},K-{0},Garden {0},"{0} Kiln St.",Tallgrass,KS,60000,40.{0:05},'
        '-101.{0:05},58,14.5,"Gate {0}, left side",two dogs',
        "controllers": "P-{0},Garage,Left wall,4,4,working",
        "zones": "P-{0},Garage,1,Front lawn,{0}.5,spray,cool turf,clay loam,4,full sun,6",
    }[kind]
    return "\n".join([head, *(line.format(number) for number in range(1, count + 1))]) + "\n"


def timed_import(kind: str, text: str) -> tuple[float, float, dict[str, Any]]:
    """Return the seconds of the look, of the writing, and what the second job said."""
    from properties.domain.spreadsheet_columns import Kind
    from properties.models import StaffMember
    from properties.services.imports import ask_to_write, keep_import
    from properties.services.jobs import run_job

    office, start = StaffMember.objects.get(), time.perf_counter()
    file = io.BytesIO(text.encode())
    sheet, look = keep_import(file, kind=Kind(kind), name="x.csv", said={}, actor=office, now=NOW)
    run_job(look.pk, now=NOW)
    between = time.perf_counter()
    _, write = ask_to_write(sheet, only_good_rows=False, actor=office, now=NOW)
    done = run_job(write.pk, now=NOW)
    assert done is not None
    return between - start, time.perf_counter() - between, done.result


def floor_seconds(kind: str) -> float:
    """Store copies of the rows that are there once more, and undo it."""
    from django.db import connection, transaction

    from properties.domain.spreadsheet_columns import Kind
    from properties.services.import_rows import MODELS

    model = MODELS[Kind(kind)]
    rows = list(model._base_manager.all())
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
        cursor.execute("SET session_replication_role = replica")  # what hangs on them stays
        cursor.execute(f"DELETE FROM {model._meta.db_table}")
        cursor.execute("SET session_replication_role = origin")
        start = time.perf_counter()
        model._base_manager.bulk_create(rows, batch_size=500)
        seconds = time.perf_counter() - start
        transaction.set_rollback(True)
    return seconds


def measure(kind: str, count: int) -> float:
    text = rows_of(kind, count)
    look, write, said = timed_import(kind, text)
    floor = statistics.median(floor_seconds(kind) for _ in range(5))
    again_look, again_write, again = timed_import(kind, text)
    assert (said["made"], again["unchanged"]) == (count, count), (said, again)
    ratio = (look + write) / floor
    print(
        f"{kind:12} {count} rows: look {look:5.2f} s, write {write:5.2f} s,"
        f" bulk_create {floor:5.2f} s, ratio {ratio:4.1f};"
        f" second look {again_look:5.2f} s, write {again_write:5.2f} s"
    )
    return ratio


def grown_mb(kind: str, count: int) -> float:
    """Return the peak of what Python holds during both jobs, above what it held before [MB]."""
    text = rows_of(kind, count)
    tracemalloc.start()
    timed_import(kind, text)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return (peak - len(text)) / 2**20


def run(count: int) -> int:
    from tests import cast

    cast.make_company()
    cast.make_office()
    ratios = [measure(kind, count) for kind in ("customers", "properties", "controllers", "zones")]
    for rows in (count // 5, count):
        print(f"zones, {rows} rows: {grown_mb('zones', rows):.1f} MB at the peak of both jobs")
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"peak memory of the process {peak:.0f} MB")
    print(f"budget {BUDGET} x: {'kept' if max(ratios) <= BUDGET else 'missed'}")
    return max(ratios) > BUDGET


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rows", type=int, default=5000)
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
        return run(arguments.rows)
    finally:
        connection.creation.destroy_test_db(name, verbosity=0)


if __name__ == "__main__":
    sys.exit(main())
