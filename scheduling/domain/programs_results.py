"""What a fit answers: programs to type in, what each zone gets of them, and how good that is."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from datetime import time

from scheduling.domain.programs_assign import Chosen, Menu
from scheduling.domain.programs_options import stress_days_week, supplied
from scheduling.domain.programs_patterns import DayPattern
from scheduling.domain.programs_problem import MIN_PER_DAY, ZoneKind, ZoneNeed

_MIN_PER_H = 60


@dataclass(frozen=True, kw_only=True)
class FittedProgram:
    """A program as a person types it in; each start runs all its zones, one after the other.

    Where it starts more than once, the next start waits for the soak of every zone.
    """

    controller: str
    name: str
    pattern: DayPattern
    start_times: tuple[time, ...]
    zone_minutes: tuple[tuple[Hashable, int], ...]
    kinds: frozenset[ZoneKind]

    @property
    def run_min(self) -> int:
        """How long one start runs [min]."""
        return sum(minutes for _, minutes in self.zone_minutes)


@dataclass(frozen=True, kw_only=True)
class ZoneFit:
    """What a zone gets in a mean week over the full period of its pattern, gross.

    `shortfall_mm_week` is the need less what the plants can use, which is no more than their roots
    last over each gap; `excess_mm_week` is the depth less that. `longest_gap_days` is None where
    the zone is in no program.
    """

    zone_id: Hashable
    program: str | None
    starts: int
    start_min: int
    need_mm_week: float
    depth_mm_week: float
    shortfall_mm_week: float
    excess_mm_week: float
    longest_gap_days: int | None
    stress_days_week: float
    litres_week: float | None
    weight: float

    @property
    def cost(self) -> float:
        """Weighted shortfall and excess [mm a week]."""
        return self.weight * (self.shortfall_mm_week + self.excess_mm_week)


@dataclass(frozen=True)
class Unmet:
    """What could not be met for a zone, None for all of them, and what cures it.

    `loss_mm_week` is the shortfall and the excess of the zone, gross, and `loss_share` that as a
    share of its need; None where the need is nil, or where it is said of all zones.
    """

    zone_id: Hashable | None
    code: str
    sentence: str
    cure: str
    loss_mm_week: float | None = None
    loss_share: float | None = None


@dataclass(frozen=True, kw_only=True)
class ProgramFit:
    """The programs of one or several controllers; costs are weighted millimetres a week.

    `bound` is what no fit can cost less than, `gap` the cost less that. `is_optimal` says that the
    gap is nil and so proven; `stopped_early` that the stop rule ended the search.
    """

    programs: tuple[FittedProgram, ...]
    zones: tuple[ZoneFit, ...]
    cost: float
    bound: float
    is_optimal: bool
    stopped_early: bool
    unmet: tuple[Unmet, ...]

    @property
    def gap(self) -> float:
        """How far from the best it may be [weighted mm a week]."""
        return max(self.cost - self.bound, 0.0)


def fitted_programs(
    menu: Menu, chosen: Sequence[Chosen], begins: Sequence[int]
) -> tuple[FittedProgram, ...]:
    """Return the programs by controller and first start, named A, B, C ... on each controller."""
    order = sorted(range(len(chosen)), key=lambda i: (chosen[i].way.task, begins[i], i))
    counts = [0] * len(menu.tasks)
    programs = []
    for i in order:
        task = chosen[i].way.task
        programs.append(_program(menu, chosen[i], begins[i], chr(ord("A") + counts[task])))
        counts[task] += 1
    return tuple(programs)


def _program(menu: Menu, chosen: Chosen, begin: int, name: str) -> FittedProgram:
    task = menu.tasks[chosen.way.task]
    every = menu.block(chosen).every_min
    starts = (begin + turn * every for turn in range(chosen.way.starts))
    servings = [(menu.clients[one.client].zone, one.steps) for one in chosen.servings]
    return FittedProgram(
        controller=task.name,
        name=name,
        pattern=chosen.pattern,
        start_times=tuple(time(*divmod(start % MIN_PER_DAY, _MIN_PER_H)) for start in starts),
        zone_minutes=tuple(
            (zone.zone_id, steps * task.ability.minute_step) for zone, steps in servings
        ),
        kinds=frozenset(zone.kind for zone, _ in servings),
    )


def zone_fit(zone: ZoneNeed, program: FittedProgram | None, percent: float = 100.0) -> ZoneFit:
    """Return what a zone gets of its program at a seasonal percentage [%]."""
    minutes = dict(program.zone_minutes)[zone.zone_id] if program else 0
    starts = len(program.start_times) if program else 0
    gaps = program.pattern.gaps if program else ((1, 1),)
    watering_mm = minutes * starts * percent / 100 * zone.rate_mm_h / _MIN_PER_H
    got = supplied(zone, gaps, watering_mm)
    waits = program is not None and zone.need_mm_week > 0
    return ZoneFit(
        zone_id=zone.zone_id,
        program=program.name if program else None,
        starts=starts,
        start_min=minutes,
        need_mm_week=zone.need_mm_week,
        depth_mm_week=got.depth_mm,
        shortfall_mm_week=got.shortfall_mm,
        excess_mm_week=got.excess_mm,
        longest_gap_days=max(gap for gap, _ in gaps) if program else None,
        stress_days_week=stress_days_week(zone, gaps) if waits else 7.0 * (zone.need_mm_week > 0),
        litres_week=None if zone.area_m2 is None else got.depth_mm * zone.area_m2,
        weight=zone.ruling_weight,
    )
