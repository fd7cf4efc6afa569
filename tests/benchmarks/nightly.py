"""The nightly look at many zones against a floor that does the least that it could.

    export DATABASE_URL=postgres://postgres@127.0.0.1:5432/<database>
    python -m tests.benchmarks.nightly

Makes a test database beside the one named, and drops it again. The floor reads the same inputs by
`values_list`, runs the bare account over the same days in NumPy, and writes the same rows by COPY
straight into the table, without a commit. Three kinds of night are measured, each with its start,
its division and its slices by one worker (the news of a night are a job of their own, and are not):

- full: nothing is known of any zone, and all is written;
- anew: all is known, all differs, and all is written over it;
- quiet: all is known, and nothing changed since the last run of the date.

With `--rules` all gardens lie in districts with rules for odd and even numbers, and a stage that is
on; the floor knows none.

Printed for each number of zones: seconds, ratio to the floor, cost of a zone, peak of memory of the
nights alone; and whether the cost is a fixed part and so much a zone. Each is the best of several,
for a machine that others use too. Budgets: full 3 x the floor, quiet a quarter of full, at the
largest number of zones.
"""

from __future__ import annotations

import argparse
import datetime as dt
import os
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from uuid import UUID

import django
import numpy as np

BUDGET, QUIET_BUDGET = 3.0, 0.25
SIZES = (1_000, 10_000, 100_000)
STATIONS = 4
DISTRICTS = 3
NOW = dt.datetime(2026, 6, 10, 15, 0, tzinfo=dt.UTC)
YEARS = 6
TRIES = 3
MADE_AT_ONCE = 10_000
LINEAR = 1.3
"""One more zone may cost so much more among many than among few, or than the floor's own does."""


@dataclass(frozen=True)
class Measured:
    """The best seconds of each kind of night for so many zones."""

    zones: int
    floor: float
    full: float
    anew: float
    quiet: float
    peak_mb: float


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


def make_rules() -> None:
    """Put the gardens into districts whose rules name weekdays by number."""
    from properties.models import Property, WateringDistrict
    from tests.properties import rule_rows

    if not WateringDistrict.objects.exists():
        for number in range(DISTRICTS):
            district = rule_rows.make_district(f"District {number}")
            stage = rule_rows.make_stage(district)
            for addresses, weekdays in (("odd", [2, 5]), ("even", [1, 6])):
                rule_rows.make_rule(district, addresses=addresses, weekdays=weekdays)
            rule_rows.make_rule(district, name="In drought", stage=stage, weekdays=[1, 2, 5])
            rule_rows.make_period(stage)
    districts = list(WateringDistrict.objects.all())
    gardens = list(Property.objects.filter(watering_district=None))
    for n, garden in enumerate(gardens):
        garden.watering_district, garden.house_number = districts[n % DISTRICTS], str(n % 97 + 1)
    Property.objects.bulk_update(gardens, ["watering_district", "house_number"], 1000)


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


def night_seconds(ask: Callable[..., object]) -> float:
    """Do a whole night with one worker from its request on; return its time."""
    from properties.models import Job
    from properties.services import jobs
    from scheduling.models import NightRun

    start = time.perf_counter()
    ask(now=NOW)
    due = Job.objects.due(NOW).exclude(kind="night-news")
    while ids := list(due.values_list("pk", flat=True)[:100]):
        for job_id in ids:
            jobs.run_job(job_id, now=NOW)
    seconds = time.perf_counter() - start
    assert NightRun.objects.first().state == "done"
    return seconds


def written() -> int:
    """Return how many zones the newest run wrote."""
    from scheduling.models import NightRun

    return sum(NightRun.objects.first().parts.values_list("changed", flat=True))


def forget(*, outlooks: bool) -> None:
    """Forget the runs of the date, and what is known of the zones or that it is right."""
    from django.db import connection

    from properties.models import Job
    from scheduling.models import NightRun, ZoneOutlook

    NightRun.objects.all().delete()
    Job.objects.all().delete()
    with connection.cursor() as cursor:
        if outlooks:
            cursor.execute(f"TRUNCATE {ZoneOutlook._meta.db_table}")
        else:
            ZoneOutlook.objects.update(percent=1)
        cursor.execute("VACUUM ANALYZE")


def forget_peak() -> None:
    Path("/proc/self/clear_refs").write_text("5")


def peak_mb() -> float:
    """Return the peak of memory since it was forgotten."""
    lines = Path("/proc/self/status").read_text().splitlines()
    return next(int(line.split()[1]) for line in lines if line.startswith("VmHWM")) / 1024


def measure(count: int) -> Measured:
    from scheduling.services.night_runs import run_again, start_night_when_due

    floors, full, anew, quiet, peaks = [], [], [], [], []
    for _ in range(TRIES):
        forget(outlooks=True)
        floors.append(floor_seconds())
        forget_peak()
        full.append(night_seconds(start_night_when_due))
        assert written() == count
        for _ in range(2):
            quiet.append(night_seconds(run_again))
            assert written() == 0
        peaks.append(peak_mb())
        forget(outlooks=False)
        anew.append(night_seconds(start_night_when_due))
        assert written() == count
    return Measured(count, min(floors), min(full), min(anew), min(quiet), min(peaks))


def show(found: list[Measured]) -> None:
    head = "zones", "floor s", "full s", "x floor", "anew s", "x floor", "quiet s", "of full"
    print(*(f"{word:>8}" for word in (*head, "us/zone", "peak MB")))
    for row in found:
        print(
            f"{row.zones:8} {row.floor:8.3f} {row.full:8.3f} {row.full / row.floor:8.2f}"
            f" {row.anew:8.3f} {row.anew / row.floor:8.2f} {row.quiet:8.3f}"
            f" {row.quiet / row.full:8.0%} {row.full / row.zones * 1e6:8.0f} {row.peak_mb:8.0f}"
        )


def show_fit(found: list[Measured]) -> None:
    """Fit a fixed part and a cost of each zone, all numbers of zones weighing the same.

    Among many zones one more costs the floor more too: memory and caches are not flat.
    """
    floor_bend = 1.0
    zones = np.array([row.zones for row in found], dtype=np.float64)
    for kind in ("floor", "full", "anew", "quiet"):
        seconds = np.array([getattr(row, kind) for row in found])
        terms = np.column_stack((np.ones_like(zones), zones)) / seconds[:, np.newaxis]
        (fixed, each), *_ = np.linalg.lstsq(terms, np.ones_like(zones), rcond=None)
        off = np.abs((fixed + each * zones) / seconds - 1.0).max()
        steps = np.diff(seconds) / np.diff(zones)
        bend = steps[-1] / steps[0]
        floor_bend = max(bend, 1.0) if kind == "floor" else floor_bend
        print(
            f"{kind:>8}: {fixed * 1e3:.0f} ms and {each * 1e6:.1f} us a zone, off by {off:.0%} at"
            f" most; one more zone costs {bend:.2f} x as much among many as among few:"
            f" {'linear' if bend <= LINEAR * floor_bend else 'NOT linear'}"
        )


def run(sizes: list[int], *, with_rules: bool) -> int:
    from tests import cast

    cast.make_company()
    make_weather()
    made, found = 0, []
    for size in sizes:
        while made < size:
            make_rows(min(size - made, MADE_AT_ONCE))
            made = min(size, made + MADE_AT_ONCE)
        if with_rules:
            make_rules()
        if not found:
            measure(size)  # what is done once in a process, and in no night after it
        found.append(measure(size))
    show(found)
    if len(found) > 2:
        show_fit(found)
    ratio, quiet = found[-1].full / found[-1].floor, found[-1].quiet / found[-1].full
    print(f"budget {BUDGET} x the floor: {'kept' if ratio <= BUDGET else 'missed'}")
    print(
        f"budget {QUIET_BUDGET:.0%} of a full run: {'kept' if quiet <= QUIET_BUDGET else 'missed'}"
    )
    return int(ratio > BUDGET or quiet > QUIET_BUDGET)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sizes", type=int, nargs="+", default=SIZES)
    parser.add_argument("--rules", action="store_true", help="put all gardens under rules")
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
        return run(list(arguments.sizes), with_rules=arguments.rules)
    finally:
        connection.creation.destroy_test_db(name, verbosity=0)


if __name__ == "__main__":
    sys.exit(main())
