"""Ten kinds of field story, drawn by seed: what is true of a zone, and what a technician records.

The technician sees a fault with a probability of 0.8 to 0.9, now and then gives it the name of
its symptom, sometimes reports something minor beside it, and reads every instrument with error.
Nothing here knows of the diagnosis.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from audits.domain.faults import FaultKind
from properties.domain.site import Exposure, HeadKind
from tests.audits.domain import field_faults as faults
from tests.audits.domain.field_lawn import Head, Lawn

Rng = np.random.Generator
METER_ERROR = 0.03
GAUGE_ERROR = 0.04
NEED_MM = (7.0, 10.0, 15.0, 22.0, 29.0, 35.0, 37.0, 33.0, 25.0, 16.0, 9.0, 6.0)
SHADE = {Exposure.FULL_SUN: 1.0, Exposure.PART_SHADE: 0.75, Exposure.FULL_SHADE: 0.5}


class Story(StrEnum):
    LEANING_HEAD = "leaning head"
    CLOGGED_NOZZLE = "clogged nozzle"
    HIGH_PRESSURE = "high pressure mist"
    LEAK = "leak"
    WRONG_NOZZLE_IN_SHADE = "wrong nozzle in shade"
    MIXED_HEADS = "mixed heads"
    TOO_MANY_HEADS = "low pressure, too many heads"
    OVERSPRAY = "overspray"
    SHADE_OVERWATERED = "shade zone overwatered"
    ALL_WELL = "all well"


@dataclass(frozen=True, kw_only=True)
class Row:
    """One line of the list of heads, as the technician wrote it."""

    kind: HeadKind
    count: int
    flow_l_min: float
    arc_deg: float
    throw_m: float


@dataclass(frozen=True, kw_only=True)
class Record:
    """What came back from the field; None where it was not measured."""

    story: Story
    head_kind: HeadKind
    rated_kpa: float
    rows: tuple[Row, ...]
    spacing_m: float
    area_m2: float
    depths_mm: tuple[float, ...]
    places_m: tuple[tuple[float, float], ...]
    duration_min: float
    metered_flow_l_min: float | None
    static_kpa: float | None
    running_kpa: float | None
    findings: tuple[tuple[FaultKind, int, bool], ...]
    exposure: Exposure
    weekly_run_min: tuple[float, ...]
    weekly_needed_mm: tuple[float, ...]
    wind_m_s: float


@dataclass(frozen=True)
class Plot:
    """What happens in a story, the names its fault goes by, and the symptoms it shows."""

    happens: Callable[[Lawn, Rng], Lawn]
    names: tuple[FaultKind, ...] = ()
    symptoms: tuple[FaultKind, ...] = ()


F = FaultKind
PLOTS = {
    Story.LEANING_HEAD: Plot(
        faults.leaning_head, (F.LEANING, F.TURNED, F.TILTED_BY_RISER), (F.DRY_SPOT,)
    ),
    Story.CLOGGED_NOZZLE: Plot(
        faults.clogged_nozzle, (F.CLOGGED_NOZZLE,), (F.DRY_SPOT, F.DOES_NOT_REACH_NEXT_HEAD)
    ),
    Story.HIGH_PRESSURE: Plot(faults.high_pressure, (F.MISTING,), (F.DRY_SPOT, F.SPRAYS_PAVING)),
    Story.LEAK: Plot(faults.leak, (F.BROKEN, F.LEAKING_SEAL), (F.WET_SPOT,)),
    Story.WRONG_NOZZLE_IN_SHADE: Plot(faults.wrong_nozzle, (F.WRONG_NOZZLE,), (F.WET_SPOT,)),
    Story.MIXED_HEADS: Plot(faults.mixed_heads, (F.MIXED_HEADS,), (F.DRY_SPOT, F.WET_SPOT)),
    Story.TOO_MANY_HEADS: Plot(
        faults.low_pressure, (F.WEAK_PRESSURE,), (F.DOES_NOT_REACH_NEXT_HEAD, F.DRY_SPOT)
    ),
    Story.OVERSPRAY: Plot(faults.overspray, (F.SPRAYS_PAVING, F.WRONG_ARC), (F.RUNOFF,)),
    Story.SHADE_OVERWATERED: Plot(faults.unchanged, (F.WET_SPOT, F.RUNOFF)),
    Story.ALL_WELL: Plot(faults.unchanged),
}
STRAYS = (
    F.SUNKEN, F.LEAKING_SEAL, F.LEANING, F.CLOGGED_NOZZLE, F.SPRAYS_PAVING, F.DRY_SPOT, F.WET_SPOT,
    F.NO_WORKING_RAIN_SENSOR, F.BLOCKED_BY_PLANTS, F.DRAINS_FROM_LOWEST_HEAD, F.MISTING,
)  # fmt: skip


def draw(story: Story, seed: int) -> Record:
    """Return one record of the story; the same seed draws the same record."""
    rng = np.random.default_rng([seed, list(Story).index(story)])
    sound = faults.sound_lawn(rng)
    lawn = PLOTS[story].happens(sound, rng)
    exposure = _exposure(story, rng)
    minutes, needed = _program(story, sound, exposure, rng)
    depths, places, duration = _cups(lawn, rng)
    kpa = lawn.running_kpa()
    return Record(
        story=story, head_kind=sound.heads[0].kind, rated_kpa=lawn.rated_kpa,
        rows=_list_of_heads(sound, lawn, rng), spacing_m=round(lawn.spacing_m, 1),
        area_m2=lawn.area_m2 * rng.normal(1.0, 0.02),
        depths_mm=depths, places_m=places, duration_min=duration,
        metered_flow_l_min=_read(lawn.total_flow_l_min(kpa), METER_ERROR, rng),
        static_kpa=_read(lawn.static_kpa, GAUGE_ERROR, rng),
        running_kpa=_read(kpa, GAUGE_ERROR, rng),
        findings=_findings(PLOTS[story], rng), exposure=exposure,
        weekly_run_min=minutes, weekly_needed_mm=needed,
        wind_m_s=max(0.0, lawn.wind_m_s + rng.normal(0.0, 0.2)),
    )  # fmt: skip


def _read(truth: float, error: float, rng: Rng) -> float | None:
    reading = truth * rng.normal(1.0, error)
    return None if rng.random() < 0.05 else round(reading, 1)


def _exposure(story: Story, rng: Rng) -> Exposure:
    if story in {Story.SHADE_OVERWATERED, Story.WRONG_NOZZLE_IN_SHADE}:
        return (Exposure.PART_SHADE, Exposure.FULL_SHADE)[int(rng.integers(2))]
    return list(Exposure)[int(rng.choice(3, p=[0.7, 0.2, 0.1]))]


def _program(
    story: Story, sound: Lawn, exposure: Exposure, rng: Rng
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Return weekly minutes and true need by month: set for the zone as it was when sound."""
    needed = np.array(NEED_MM) * SHADE[exposure]
    meant = np.array(NEED_MM) if story is Story.SHADE_OVERWATERED else needed
    minutes = meant / sound.mean_rate_mm_h() * 60 * rng.normal(1.0, 0.08)
    # The seasonal percentage is set in coarse steps; the need itself is an estimate.
    minutes *= rng.normal(1.0, 0.05, size=12)
    return tuple(minutes.tolist()), tuple((needed * rng.normal(1.0, 0.05)).tolist())


def _cups(lawn: Lawn, rng: Rng) -> tuple[tuple[float, ...], tuple[tuple[float, float], ...], float]:
    """Set 12 to 24 cups on a rough grid, run until there is enough to read, and read them."""
    columns, rows = ((4, 3), (4, 4), (5, 4), (6, 4))[int(rng.integers(4))]
    x, y = np.meshgrid((np.arange(columns) + 0.5) / columns, (np.arange(rows) + 0.5) / rows)
    spot = np.stack([x.ravel(), y.ravel()], axis=1)
    spot = np.clip(spot + rng.normal(0.0, 0.06, spot.shape), 0.02, 0.98)
    places = spot * np.array([lawn.width_m, lawn.depth_m])
    rates = lawn.rates_mm_h(places)
    duration = float(max(5, round(10.0 / rates.mean() * 60)))
    depths = rates * duration / 60 * rng.normal(1.0, 0.04, rates.shape)
    read = np.maximum(0.0, np.round(depths * 2) / 2)
    return tuple(read.tolist()), tuple(map(tuple, places.tolist())), duration


def _list_of_heads(sound: Lawn, lawn: Lawn, rng: Rng) -> tuple[Row, ...]:
    """List the heads; a nozzle that was changed is noticed with a probability of 0.85."""
    noticed = rng.random() < 0.85
    listed = lawn.heads if noticed else sound.heads
    rows: dict[tuple[HeadKind, float, float, float], int] = {}
    for head in listed:
        rows[_row_key(head)] = rows.get(_row_key(head), 0) + 1
    return tuple(
        Row(kind=kind, count=count, flow_l_min=flow, arc_deg=arc, throw_m=throw)
        for (kind, flow, arc, throw), count in rows.items()
    )


def _row_key(head: Head) -> tuple[HeadKind, float, float, float]:
    flow = float(f"{head.listed_flow_l_min:.2g}")
    return head.kind, flow, head.listed_arc_deg, head.listed_throw_m


def _findings(plot: Plot, rng: Rng) -> tuple[tuple[FaultKind, int, bool], ...]:
    findings: list[tuple[FaultKind, int, bool]] = []
    if plot.names and rng.random() < rng.uniform(0.8, 0.9):
        is_misnamed = bool(plot.symptoms) and rng.random() < 0.04
        names = plot.symptoms if is_misnamed else plot.names
        name = names[int(rng.integers(len(names)))]
        findings.append((name, 1, False))
    findings += [(kind, 1, False) for kind in plot.symptoms if rng.random() < 0.3]
    if rng.random() < 0.2:
        stray = STRAYS[int(rng.integers(len(STRAYS)))]
        findings.append((stray, 1, bool(rng.random() < 0.5)))
    return tuple({f[0]: f for f in findings}.values())
