"""The water account of 100,000 zones over a year, against the same arithmetic as a bare loop.

`python -m tests.benchmarks.water_account` prints the best of five of each, taken in turn in one
process by processor time, their ratio (budget: 1.5), and the peak of memory of each in a process of
its own.
"""

from __future__ import annotations

import resource
import subprocess
import sys
import time
from collections.abc import Callable

import numpy as np

from scheduling.domain.water_balance import RootZone, Waterings, simulate
from scheduling.domain.water_histories import distinct_histories

DAYS, ZONES, STATIONS = 365, 100_000, 40
BUDGET = 1.5


def inputs(zones: int) -> dict[str, np.ndarray]:
    """A year of invented weather at forty stations, and waterings each third day."""
    random = np.random.default_rng(1)
    station = random.integers(STATIONS, size=zones)
    et0 = random.uniform(1.0, 9.0, (DAYS, STATIONS))
    rain = np.where(random.random((DAYS, STATIONS)) < 0.2, random.gamma(1.0, 9.0, et0.shape), 0.0)
    gross = np.zeros((DAYS, zones))
    gross[::3] = random.uniform(5.0, 20.0, zones)
    return {
        "need": et0[:, station] * random.uniform(0.3, 1.0, zones),
        "rain": rain[:, station],
        "gross": gross,
        "fraction": random.uniform(0.5, 0.9, zones),
        "storage": random.uniform(10.0, 60.0, zones),
    }


def ours(given: dict[str, np.ndarray]) -> tuple[np.ndarray, ...]:
    account = simulate(
        given["need"],
        given["rain"],
        Waterings(gross_mm=given["gross"], net_fraction=given["fraction"]),
        RootZone(storage_mm=given["storage"]),
    )
    return (
        account.stored_mm,
        account.deficit_mm,
        account.rain_overflow_mm,
        account.irrigation_overflow_mm,
    )


def bare(given: dict[str, np.ndarray]) -> tuple[np.ndarray, ...]:
    """The same four columns, in place, without checks, runoff, months or chunks of zones."""
    need, rain, gross = given["need"], given["rain"], given["gross"]
    fraction, storage = given["fraction"], given["storage"]
    stored, deficit, of_rain, of_irrigation = (np.empty(need.shape) for _ in range(4))
    store, water = storage.copy(), np.empty_like(storage)
    for day in range(need.shape[0]):
        store += rain[day]
        np.subtract(store, storage, out=of_rain[day])
        np.maximum(of_rain[day], 0.0, out=of_rain[day])
        np.minimum(store, storage, out=store)
        store += np.multiply(gross[day], fraction, out=water)
        np.subtract(store, storage, out=of_irrigation[day])
        np.maximum(of_irrigation[day], 0.0, out=of_irrigation[day])
        np.minimum(store, storage, out=store)
        np.subtract(need[day], store, out=deficit[day])
        np.maximum(deficit[day], 0.0, out=deficit[day])
        store -= need[day]
        np.maximum(store, 0.0, out=store)
        stored[day] = store
    return stored, deficit, of_rain, of_irrigation


def distinct(given: dict[str, np.ndarray]) -> None:
    """Two thousand histories among the zones: find them, compute them, spread the sums."""
    zone = np.arange(given["storage"].size) % 2_000
    copies = {name: values[..., zone] for name, values in given.items()}
    start = time.perf_counter()
    found = distinct_histories(
        weather=zone % STATIONS, storage=copies["storage"], fraction=copies["fraction"], kind=zone
    )
    once = {name: found.pick(values) for name, values in copies.items()}
    found.spread(ours(once)[1].sum(axis=0))
    seconds = time.perf_counter() - start
    print(f"{'distinct':10} {seconds:6.2f} s for {found.first.size} histories of {zone.size} zones")


RUNS: dict[str, Callable[..., object]] = {"bare": bare, "ours": ours, "distinct": distinct}


def _seconds(run: Callable[..., object], given: dict[str, np.ndarray]) -> float:
    start = time.process_time()
    run(given)
    return time.process_time() - start


def _print_peak(name: str) -> None:
    given = inputs(ZONES)
    before_mb = _peak_mb()
    RUNS[name](given)
    if name != "distinct":
        print(f"{name:10} peak {_peak_mb():,.0f} MB, {before_mb:,.0f} MB of it to make the inputs")


def _peak_mb() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def _print_in_a_process(name: str) -> None:
    command = [sys.executable, "-m", "tests.benchmarks.water_account", name]
    print(subprocess.run(command, check=True, capture_output=True, text=True).stdout, end="")


def main() -> None:
    """Print both, the ratio and the budget; leave with 1 when the budget is broken."""
    for name in RUNS:
        _print_in_a_process(name)
    given = inputs(ZONES)
    pairs = [(_seconds(bare, given), _seconds(ours, given)) for _ in range(5)]
    best_bare, best_ours = (min(column) for column in zip(*pairs, strict=True))
    ratio = best_ours / best_bare
    print(f"bare {best_bare:.2f} s, ours {best_ours:.2f} s: ratio {ratio:.2f} of {BUDGET}")
    sys.exit(ratio > BUDGET)


if __name__ == "__main__":
    _print_peak(sys.argv[1]) if len(sys.argv) > 1 else main()
