"""The nightly look at many zones against a floor that does the least that it could.

    export DATABASE_URL=postgres://postgres@127.0.0.1:5432/<database>
    python -m tests.benchmarks.nightly

Makes a test database beside the one named, and drops it again. The floor reads the same inputs by
`values_list`, runs the bare account over the same days in NumPy, and writes the same rows by COPY
straight into the table. Printed for 1,000, 10,000 and 100,000 zones: seconds, ratio, peak of
memory; then the night once more, in which nothing changed. Budgets: 3 x the floor, a quarter of the
full run.
"""

from __future__ import annotations

import argparse
import datetime as dt
import os
import resource
import sys
import time
from collections.abc import Callable
from uuid import UUID

import django
import numpy as np

BUDGET, QUIET_BUDGET = 3.0, 0.25
SIZES = (1_000, 10_000, 100_000)
STATIONS = 4
NOW = dt.datetime(2026, 6, 10, 15, 0, tzinfo=dt.UTC)
YEARS = 6


def make_rows(count: int) -> None:
    """Make so many zones of gardens of ten, each with a plan and its months."""
    from properties.models import Controller, Customer, Property, Zone
    from scheduling.models import PlanMonth, WateringPlan, WeatherStation
    from tests import cast

    stations = list(WeatherStation.objects.order_by("pk"))
    row = cast.ROW
    customer = Customer.objects.create(name="Many", **row)
    gardens = Property.objects.bulk_create(
        Property(customer=customer, name=f"Garden {n}", street="1 Kiln Street", city="Tallgrass",
                 time_zone="America/Chicago", latitude=40.0, longitude=-100.0, **row)
        for n in range(count // 10)
    )  # fmt: skip
    boxes = Controller.objects.bulk_create(
        Controller(property=garden, name="Garage", **row) for garden in gardens
    )
    zones = Zone.objects.bulk_create(
        (
            Zone(property=gardens[n // 10], controller=boxes[n // 10], number=n % 10 + 1,
                 name="Lawn", area_m2=100.0, head_kind="spray", plant_type="cool_turf",
                 soil_texture="loam", exposure="full_sun", **row)
            for n in range(count)
        ),
        2000,
    )  # fmt: skip
    plans = WateringPlan.objects.bulk_create(
        (
            WateringPlan(zone=zone, number=1, station=stations[n % STATIONS], is_estimated=True,
                         inputs={}, months=[], settings_digest="x", **row)
            for n, zone in enumerate(zones)
        ),
        2000,
    )  # fmt: skip
    chance = np.random.default_rng(1)
    raw = chance.uniform(8.0, 45.0, count).round(2).tolist()
    factor = chance.uniform(0.3, 1.1, count).round(3).tolist()
    PlanMonth.objects.bulk_create(
        (
            PlanMonth(zone=zones[n], plan=plan, station_id=plan.station_id, month=NOW.month,
                      raw_mm=raw[n], need_per_et0=factor[n], usual_et0_mm=6.0, net_mm=raw[n],
                      gross_mm=raw[n] * 1.3, minutes=20.0, least_days=1, most_days=14)
            for n, plan in enumerate(plans)
        ),
        2000,
    )  # fmt: skip


def make_weather() -> None:
    from scheduling.models import WeatherDay
    from tests import cast

    days = YEARS * 366
    for number in range(STATIONS):
        station = cast.make_station(code=f"ZZBENCH{number:04}", latitude=35.0 + number)
        chance = np.random.default_rng(number)
        wave = 5.0 + 3.0 * np.sin(np.arange(days) / 58.1)
        rain = np.where(chance.random(days) < 0.2, chance.exponential(8.0, days), 0.0)
        WeatherDay.objects.bulk_create(
            WeatherDay(station=station, date=NOW.date() - dt.timedelta(days=days - n),
                       tmin_c=12.0, tmax_c=25.0, et0_mm=float(wave[n]), rain_mm=float(rain[n]))
            for n in range(days)
        )  # fmt: skip


def floor_seconds() -> float:
    """Read, compute and write the least."""
    from django.db import connection, transaction

    from scheduling.models import PlanMonth, WeatherDay, WeatherStation, ZoneOutlook

    table = ZoneOutlook._meta.db_table
    start = time.perf_counter()
    today = NOW.date()
    first = today - dt.timedelta(days=45)
    with transaction.atomic(), connection.cursor() as cursor:
        for station in WeatherStation.objects.all():
            rows = list(
                PlanMonth.objects.filter(month=today.month, station=station)
                .order_by("zone_id")
                .values_list("zone_id", "raw_mm", "need_per_et0", "usual_et0_mm", "net_mm",
                             "gross_mm", "least_days", "most_days")
            )  # fmt: skip
            days = list(
                WeatherDay.objects.filter(station=station, date__range=(first, today))
                .order_by("date").values_list("et0_mm", "rain_mm")
            )  # fmt: skip
            due, between = bare_account(rows, days)
            lines = (
                f"{row[0]}\t{apart}\t100\t{today + dt.timedelta(days=ahead)}\t{today}\n"
                for row, apart, ahead in zip(rows, between.tolist(), due.tolist(), strict=True)
            )
            columns = "zone_id, days_between, percent, next_on, changed_on"
            with cursor.copy(f"COPY {table} ({columns}) FROM STDIN") as copy:
                copy.write("".join(lines).encode())
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
        seconds = time.perf_counter() - start
        transaction.set_rollback(True)
    return seconds


def bare_account(rows: list[tuple[UUID, ...]], days: list[tuple[float, float]]):
    """Carry the store of all zones through the days, and note when it runs dry."""
    values = np.array([row[1:] for row in rows], dtype=np.float64).T
    raw, factor = values[0], values[1]
    et0 = np.array([day[0] for day in days] + [6.0] * 14)
    rain = np.array([day[1] for day in days] + [0.0] * 14)
    store, due = raw.copy(), np.full(len(rows), -1)
    for day in range(len(et0)):
        need = factor * et0[day]
        is_dry = store < need
        store = np.where(is_dry, raw, store)
        if day >= len(days):
            due = np.where((due < 0) & is_dry, day - len(days), due)
        store = np.maximum(np.minimum(store + rain[day], raw) - need, 0.0)
    return due, np.floor(raw / (factor * et0[-14:].mean())).astype(np.int64)


def night_seconds(
    now: dt.datetime, start_it: Callable[[], object] | None = None
) -> tuple[float, int]:
    """Do a whole night with one worker; return its time and how many zones it wrote."""
    from properties.models import Company
    from properties.services import jobs
    from scheduling.models import NightRun
    from scheduling.services import night_runs

    start = time.perf_counter()
    if start_it is None:
        night_runs.start_night(Company.objects.get().pk, now)
    else:
        start_it()
    for job_id in jobs.due_job_ids(now=now, limit=10_000):
        jobs.run_job(job_id, now=now)
    seconds = time.perf_counter() - start
    run = NightRun.objects.latest("date")
    assert run.state == "done", run.state
    return seconds, sum(run.parts.values_list("changed", flat=True))


def peak_mb() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def measure(count: int) -> tuple[float, float]:

    from scheduling.models import NightRun, ZoneOutlook
    from scheduling.services.night_runs import run_again

    floor = float(np.median([floor_seconds() for _ in range(5)]))
    seconds, changed = night_seconds(NOW)
    quiet, changed_again = night_seconds(NOW, lambda: run_again(now=NOW))
    NightRun.objects.all().delete()
    ZoneOutlook.objects.all().delete()
    print(
        f"{count:8} zones: {seconds:6.2f} s = {seconds / floor:4.2f} x the floor ({floor:.2f} s),"
        f" {changed} written; nothing changed: {quiet:6.2f} s = {quiet / seconds:4.0%},"
        f" {changed_again} written; peak {peak_mb():.0f} MB"
    )
    return seconds / floor, quiet / seconds


def run(sizes: list[int]) -> int:
    from tests import cast

    cast.make_company()
    make_weather()
    made, ratios = 0, []
    for size in sizes:
        make_rows(size - made)
        made = size
        ratios.append(measure(size))
    ratio, quiet = ratios[-1]
    print(f"budget {BUDGET} x the floor: {'kept' if ratio <= BUDGET else 'missed'}")
    print(
        f"budget {QUIET_BUDGET:.0%} of a full run: {'kept' if quiet <= QUIET_BUDGET else 'missed'}"
    )
    return int(ratio > BUDGET or quiet > QUIET_BUDGET)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sizes", type=int, nargs="+", default=SIZES)
    arguments = parser.parse_args()
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings.test")
    django.setup()
    from django.db import connection

    if connection.vendor != "postgresql":
        print("Name a PostgreSQL database in DATABASE_URL.")
        return 2
    name = connection.settings_dict["NAME"]
    connection.creation.create_test_db(verbosity=0, autoclobber=True)
    try:
        return run(list(arguments.sizes))
    finally:
        connection.creation.destroy_test_db(name, verbosity=0)


if __name__ == "__main__":
    sys.exit(main())
