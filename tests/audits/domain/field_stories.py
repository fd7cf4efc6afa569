"""Ten kinds of field story, drawn by seed: what is true of a zone, and what a technician records.

The technician sees a fault with a probability of 0.8 to 0.9, on all or some of its heads, now and
then gives it the name of its symptom, and sometimes reports something minor beside it. Who
overlooks a nozzle on the ground mostly overlooks it in the list of heads too, and half of the leaks
lie below ground, where only wet soil shows. Meter, gauge, tape and cups are read with error and to
their marks, and now and then not at all; of the program only the month of the visit is known.
Nothing here knows of the diagnosis.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from audits.domain.faults import FaultKind, Severity
from properties.domain.site import Exposure, HeadKind
from tests.audits.domain import field_faults as faults
from tests.audits.domain.field_lawn import Head, Lawn

Rng = np.random.Generator
# One standard deviation each (common practice); the gauge errs alike in both of its readings.
METER_ERROR = 0.03
METER_MARK_L_MIN = 0.5
GAUGE_ERROR = 0.03
GAUGE_READING_ERROR = 0.02
GAUGE_MARK_KPA = 5.0
TAPE_ERROR = 0.03
AREA_ERROR = 0.04
CUP_ERROR = 0.04
NOT_READ = 0.05
NO_PLACES = 0.15
NO_WIND = 0.15
TIPPED_CUP = 0.04
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


@dataclass(frozen=True)
class Seen:
    """A fault as written down: on how many heads, mended at once or not, and how bad."""

    kind: FaultKind
    count: int
    is_mended: bool
    severity: Severity


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
    findings: tuple[Seen, ...]
    exposure: Exposure
    weekly_run_min: tuple[float | None, ...]
    weekly_needed_mm: tuple[float, ...]
    wind_m_s: float | None


@dataclass(frozen=True)
class Plot:
    """What happens in a story, the names its fault goes by, and the symptoms it shows."""

    happens: Callable[[Lawn, Rng], Lawn]
    names: tuple[FaultKind, ...] = ()
    symptoms: tuple[FaultKind, ...] = ()
    # How often the fault has no name because nobody can see it.
    is_hidden: float = 0.0


F = FaultKind
PLOTS = {
    Story.LEANING_HEAD: Plot(
        faults.leaning_head, (F.LEANING, F.TURNED, F.TILTED_BY_RISER), (F.DRY_SPOT,)
    ),
    Story.CLOGGED_NOZZLE: Plot(
        faults.clogged_nozzle, (F.CLOGGED_NOZZLE,), (F.DRY_SPOT, F.DOES_NOT_REACH_NEXT_HEAD)
    ),
    Story.HIGH_PRESSURE: Plot(faults.high_pressure, (F.MISTING,), (F.DRY_SPOT, F.SPRAYS_PAVING)),
    Story.LEAK: Plot(faults.leak, (F.BROKEN, F.LEAKING_SEAL), (F.WET_SPOT,), 0.5),
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
    F.NO_WORKING_RAIN_SENSOR, F.BLOCKED_BY_PLANTS, F.DRAINS_FROM_LOWEST_HEAD, F.MISTING, F.RUNOFF,
    F.DOES_NOT_REACH_NEXT_HEAD,
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
    gauge = rng.normal(1.0, GAUGE_ERROR)
    is_seen = bool(rng.random() < rng.uniform(0.8, 0.9))
    return Record(
        story=story, head_kind=sound.heads[0].kind, rated_kpa=lawn.rated_kpa,
        rows=_list_of_heads(sound, lawn, rng, is_seen=is_seen),
        spacing_m=round(lawn.spacing_m * rng.normal(1.0, TAPE_ERROR), 1),
        area_m2=lawn.area_m2 * rng.normal(1.0, AREA_ERROR),
        depths_mm=depths, places_m=() if rng.random() < NO_PLACES else places,
        duration_min=duration,
        metered_flow_l_min=_read(
            lawn.total_flow_l_min(kpa), rng, error=METER_ERROR, mark=METER_MARK_L_MIN
        ),
        static_kpa=_read_gauge(lawn.static_kpa * gauge, rng),
        running_kpa=_read_gauge(kpa * gauge, rng),
        findings=_findings(PLOTS[story], rng, is_seen=is_seen, heads=_changed(sound, lawn)),
        exposure=exposure, weekly_run_min=minutes, weekly_needed_mm=needed,
        wind_m_s=_wind(lawn, rng),
    )  # fmt: skip


def _read(truth: float, rng: Rng, *, error: float, mark: float) -> float | None:
    reading = truth * rng.normal(1.0, error)
    return None if rng.random() < NOT_READ else round(reading / mark) * mark


def _read_gauge(kpa: float, rng: Rng) -> float | None:
    return _read(kpa, rng, error=GAUGE_READING_ERROR, mark=GAUGE_MARK_KPA)


def _wind(lawn: Lawn, rng: Rng) -> float | None:
    estimate = max(0.0, lawn.wind_m_s + rng.normal(0.0, 0.4))
    return None if rng.random() < NO_WIND else estimate


def _changed(sound: Lawn, lawn: Lawn) -> int:
    pairs = zip(sound.heads, lawn.heads, strict=True)
    return max(1, sum(was is not now for was, now in pairs))


def _exposure(story: Story, rng: Rng) -> Exposure:
    if story in {Story.SHADE_OVERWATERED, Story.WRONG_NOZZLE_IN_SHADE}:
        return (Exposure.PART_SHADE, Exposure.FULL_SHADE)[int(rng.integers(2))]
    return list(Exposure)[int(rng.choice(3, p=[0.7, 0.2, 0.1]))]


def _program(
    story: Story, sound: Lawn, exposure: Exposure, rng: Rng
) -> tuple[tuple[float | None, ...], tuple[float, ...]]:
    """Return weekly minutes of the month of the visit, and the need of every month.

    The program was set for the zone as it was when sound, and follows the season in coarse steps;
    what it was in other months nobody wrote down. Whoever set it saw to it that the drier half of
    the lawn got what its plants need. The need is an estimate too.
    """
    needed = np.array(NEED_MM) * SHADE[exposure]
    meant = np.array(NEED_MM) if story is Story.SHADE_OVERWATERED else needed
    month = int(rng.integers(12))
    minutes = meant[month] / _drier_half_mm_h(sound) * 60
    minutes *= rng.normal(1.0, 0.08) * rng.normal(1.0, 0.05)
    found = tuple(float(minutes) if at == month else None for at in range(12))
    return found, tuple((needed * rng.normal(1.0, 0.05)).tolist())


def _drier_half_mm_h(lawn: Lawn) -> float:
    """Return the mean rate of the drier half of a lawn."""
    x, y = np.meshgrid((np.arange(40) + 0.5) / 40, (np.arange(40) + 0.5) / 40)
    places = np.stack([x.ravel() * lawn.width_m, y.ravel() * lawn.depth_m], axis=1)
    rates = np.sort(lawn.rates_mm_h(places))
    return float(rates[: rates.size // 2].mean())


def _cups(lawn: Lawn, rng: Rng) -> tuple[tuple[float, ...], tuple[tuple[float, float], ...], float]:
    """Set 12 to 24 cups on a rough grid, run until there is enough to read, and read them."""
    columns, rows = ((4, 3), (4, 4), (5, 4), (6, 4))[int(rng.integers(4))]
    x, y = np.meshgrid((np.arange(columns) + 0.5) / columns, (np.arange(rows) + 0.5) / rows)
    spot = np.stack([x.ravel(), y.ravel()], axis=1)
    spot = np.clip(spot + rng.normal(0.0, 0.06, spot.shape), 0.02, 0.98)
    places = spot * np.array([lawn.width_m, lawn.depth_m])
    rates = lawn.rates_mm_h(places)
    duration = float(max(5, round(10.0 / rates.mean() * 60)))
    depths = rates * duration / 60 * rng.normal(1.0, CUP_ERROR, rates.shape)
    if rng.random() < TIPPED_CUP:
        depths[int(rng.integers(len(depths)))] *= rng.uniform(0.0, 0.7)
    read = np.maximum(0.0, np.round(depths * 2) / 2)
    return tuple(read.tolist()), tuple(map(tuple, places.tolist())), duration


def _list_of_heads(sound: Lawn, lawn: Lawn, rng: Rng, *, is_seen: bool) -> tuple[Row, ...]:
    """List the heads; a changed nozzle that was overlooked on the ground is seldom read here."""
    is_read = rng.random() < (0.95 if is_seen else 0.4)
    listed = lawn.heads if is_read else sound.heads
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


def _findings(plot: Plot, rng: Rng, *, is_seen: bool, heads: int) -> tuple[Seen, ...]:
    findings: list[Seen] = []
    if plot.names and is_seen and rng.random() >= plot.is_hidden:
        is_misnamed = bool(plot.symptoms) and rng.random() < 0.04
        names = plot.symptoms if is_misnamed else plot.names
        name = names[int(rng.integers(len(names)))]
        findings.append(Seen(name, int(rng.integers(1, heads + 1)), False, _grade(rng, 0.2)))
    symptoms = [kind for kind in plot.symptoms if rng.random() < 0.3]
    findings += [Seen(kind, 1, False, _grade(rng, 0.5)) for kind in symptoms]
    if rng.random() < 0.2:
        stray = STRAYS[int(rng.integers(len(STRAYS)))]
        findings.append(Seen(stray, 1, bool(rng.random() < 0.5), _grade(rng, 0.7)))
    return tuple({seen.kind: seen for seen in reversed(findings)}.values())


def _grade(rng: Rng, minor: float) -> Severity:
    """Grade a fault as on site: of little ones too many are called major, of great ones minor."""
    return Severity.MINOR if rng.random() < minor else Severity.MAJOR
