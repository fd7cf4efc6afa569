"""The judge itself is right, and is separate."""

from __future__ import annotations

import ast
from pathlib import Path

import numpy as np
import pytest

from scheduling.domain.soil import accumulation_mm, intake_mm_h, max_cycle_min, soak_min
from scheduling.domain.water_balance import RootZone, Waterings, simulate
from scheduling.domain.water_events import cycle_losses
from scheduling.domain.water_scores import scores
from tests.scheduling.judge.judge import RAIN_THAT_COUNTS, Run, judge_zone, surface, verdict
from tests.scheduling.judge.open_weather import LATITUDES, elsewhere, read_series
from tests.scheduling.judge.reference_zones import ZONES

HERE = Path(__file__).parent
INCH = 25.4


@pytest.mark.parametrize("name", ["judge.py", "reference_zones.py", "open_weather.py"])
def test_the_judge_shares_no_code_with_the_product(name):
    tree = ast.parse((HERE / name).read_text())
    nodes = [node for node in ast.walk(tree) if isinstance(node, ast.Import | ast.ImportFrom)]
    modules = {getattr(node, "module", None) or node.names[0].name for node in nodes}

    assert {module.split(".")[0] for module in modules} <= {
        "__future__", "collections", "dataclasses", "datetime", "functools", "importlib", "numpy",
        "pathlib", "tests", "typing",
    }  # fmt: skip
    assert all(m.startswith("tests.scheduling.judge.") for m in modules if m.startswith("tests"))


def test_a_day_of_the_judge_by_hand():
    # Arithmetic: 0.55 in, full; bermuda in July 0.71 x 0.2 in; an hour of drip 0.2 in at 80 %.
    drip, bermuda = ZONES[4], ZONES[1]

    dry = judge_zone(bermuda, [None] * 5, et0_mm=[0.2 * INCH] * 5, rain_mm=[0] * 5, months=[6] * 5)
    wet = judge_zone(drip, [Run(1, 60.0, 0.0)], et0_mm=[0.0], rain_mm=[0.0], months=[6])

    assert dry[-1].deficit == pytest.approx(0.142)
    assert sum(day.deficit for day in dry) == pytest.approx(5 * 0.142 - 0.55)
    assert verdict(dry).adequacy == pytest.approx(0.55 / 0.71)
    assert verdict(dry).excess is None
    assert (wet[0].net, wet[0].irrigation_overflow) == pytest.approx((0.16, 0.16))
    assert verdict(wet).adequacy is None
    assert verdict(wet).excess == pytest.approx(1.0)


def test_the_order_of_the_day_decides_whose_overflow_it_is():
    zone, ran = ZONES[4], Run(1, 60.0, 0.0)
    day = {"et0_mm": [0.0], "rain_mm": [100.0], "months": [0]}

    full = [judge_zone(zone, [ran], **day, rain_first=first)[0] for first in (False, True)]
    dry_before = {"et0_mm": [INCH, 0], "rain_mm": [0, 100], "months": [0, 0]}
    room = [judge_zone(zone, [None, ran], **dry_before, rain_first=f)[1] for f in (False, True)]

    assert [day.irrigation_overflow for day in full] == pytest.approx([0.16, 0.16])
    assert [day.rain_overflow for day in full] == pytest.approx([80 / INCH] * 2)
    assert [day.irrigation_overflow for day in room] == pytest.approx([0.0, 0.16])


@pytest.mark.parametrize("zone", ZONES, ids=lambda zone: zone.name)
def test_judge_and_product_agree_when_they_are_told_the_same(zone):
    """Two accounts by two hands: the same weather and runs give the same scores."""
    random = np.random.default_rng(11)
    et0, rain = random.uniform(1, 8, 200), random.gamma(0.4, 12.0, 200)
    months = random.integers(12, size=200)
    runs = [
        Run(
            int(random.integers(1, 5)), float(random.integers(3, 40)), float(random.integers(0, 60))
        )
        if random.random() < 0.5
        else None
        for _ in range(200)
    ]

    judged = judge_zone(zone, runs, et0_mm=et0, rain_mm=rain, months=months, rain_first=True)

    cycles, minutes, soak = np.array(
        [(r.cycles, r.cycle_min, r.soak_min) if r else (0, 0, 0) for r in runs]
    ).T
    losses = cycle_losses(
        cycles, minutes, soak,
        rate_mm_h=zone.rate_in_h * INCH,
        intake_mm_h=intake_mm_h(zone.texture),
        accumulation_mm=accumulation_mm(zone.texture, zone.slope_percent),
    )  # fmt: skip
    account = simulate(
        (et0 * np.array(zone.crop)[months] * zone.sun)[:, np.newaxis],
        (RAIN_THAT_COUNTS * rain)[:, np.newaxis],
        Waterings(
            gross_mm=(cycles * minutes * zone.rate_in_h * INCH / 60)[:, np.newaxis],
            net_fraction=zone.efficiency,
            runoff_mm=losses.runoff_mm[:, np.newaxis],
            soak_runoff_mm=losses.soak_runoff_mm[:, np.newaxis],
        ),
        RootZone(storage_mm=zone.storage_in * INCH),
    )
    np.testing.assert_allclose(
        account.stored_mm[:, 0], [day.stored * INCH for day in judged], atol=1e-9
    )
    found = scores(account)
    assert found.adequacy[0] == pytest.approx(verdict(judged).adequacy)
    assert found.excess[0] == pytest.approx(verdict(judged).excess)


def test_the_reference_zones_stand_on_the_tables_of_the_protocol():
    # SOIL-16 beside SOIL-06 and SOIL-07: typed twice, by zone and by texture.
    for zone in ZONES:
        assert intake_mm_h(zone.texture) == pytest.approx(zone.intake_in_h * INCH)
        standing = accumulation_mm(zone.texture, zone.slope_percent)
        assert standing == pytest.approx(zone.standing_in * INCH)


def test_the_storage_of_the_first_zone_is_soil_times_roots_times_depletion():
    assert ZONES[0].storage_in == pytest.approx(0.17 * 10 * 0.50)


@pytest.mark.parametrize("zone", ZONES, ids=lambda zone: zone.name)
def test_our_cycles_and_soaks_lose_nothing_on_the_judges_surface(zone):
    rate = zone.rate_in_h * INCH
    intake, standing = intake_mm_h(zone.texture), accumulation_mm(zone.texture, zone.slope_percent)
    longest, soak = max_cycle_min(rate, intake, standing), soak_min(intake, standing)

    assert surface(zone, Run(4, float(longest), float(soak)))[1] == pytest.approx(0.0, abs=1e-12)
    if np.isfinite(longest):
        assert surface(zone, Run(1, float(longest) + 5, 0.0))[1] > 0.0


@pytest.mark.parametrize("site", list(LATITUDES))
def test_the_open_weather_is_whole_and_in_order(site):
    series = read_series(site)

    steps = np.diff(np.array(series.dates, dtype="datetime64[D]")).astype(int)
    assert (steps == 1).all()
    assert np.isfinite([series.tmin_c, series.tmax_c, series.rain_mm, series.et0_mm]).all()
    assert (series.et0_mm >= 0).all()
    warm, cold = (series.et0_mm[series.months == month].mean() for month in (6, 0))
    assert warm > cold  # months are shifted south of the equator


def test_the_rain_elsewhere_is_another_rain_of_the_same_size():
    rain = read_series("cordoba").rain_mm

    there = elsewhere(rain, 20)

    assert there.sum() == pytest.approx(rain.sum(), rel=0.03)
    assert np.abs(there - rain).sum() > 0.2 * rain.sum()
    np.testing.assert_array_equal(there, elsewhere(rain, 20))
