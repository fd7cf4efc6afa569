"""Twelve months out of one fit: same minutes on other days, or same days at a percentage."""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from properties.domain.errors import InvalidInputError
from scheduling.domain.programs_fit import fit_tasks
from scheduling.domain.programs_linear import Stop
from scheduling.domain.programs_options import spans_of, spans_on
from scheduling.domain.programs_patterns import DayPattern, Gaps
from scheduling.domain.programs_problem import MIN_PER_DAY, ControllerTask, ZoneNeed
from scheduling.domain.programs_results import FittedProgram, ProgramFit, ZoneFit, zone_fit

MONTHS: Final = 12
FULL_PERCENT: Final = 100
_ROUNDING: Final = 1e-9

MonthlyNeeds = Mapping[Hashable, Sequence[float]]


@dataclass(frozen=True)
class MonthSetting:
    """What the controller is set to in a month, and what the zones get of it.

    `patterns` pairs each program with its days, None where it is switched off. `percent` is the
    seasonal adjustment [%].
    """

    month: int
    percent: int
    patterns: tuple[tuple[str, DayPattern | None], ...]
    zones: tuple[ZoneFit, ...]

    @property
    def cost(self) -> float:
        """Weighted shortfall and excess of all zones [mm a week]."""
        return math.fsum(zone.cost for zone in self.zones)


@dataclass(frozen=True)
class SeasonFit:
    """The fit of the peak month, whose starts and minutes stay, and what changes in each month."""

    peak_month: int
    peak: ProgramFit
    months: tuple[MonthSetting, ...]


def season_by_days(task: ControllerTask, needs_mm_week: MonthlyNeeds, stop: Stop) -> SeasonFit:
    """See `programs.season_by_days`."""
    return _season(task, needs_mm_week, stop, _best_days)


def season_by_percent(task: ControllerTask, needs_mm_week: MonthlyNeeds, stop: Stop) -> SeasonFit:
    """See `programs.season_by_percent`."""
    return _season(task, needs_mm_week, stop, _best_percent)


_Month = Callable[[ControllerTask, ProgramFit, int], MonthSetting]


def _season(task: ControllerTask, needs: MonthlyNeeds, stop: Stop, setting: _Month) -> SeasonFit:
    months = [_in_month(task, needs, month) for month in range(MONTHS)]
    peak = max(range(MONTHS), key=lambda month: _thirst(months[month]))  # of equals the first
    fit = fit_tasks([months[peak]], None, stop)
    settings = tuple(setting(one, fit, month + 1) for month, one in enumerate(months))
    return SeasonFit(peak + 1, fit, settings)


def _thirst(task: ControllerTask) -> float:
    return math.fsum(zone.ruling_weight * zone.need_mm_week for zone in task.zones)


def _in_month(task: ControllerTask, needs: MonthlyNeeds, month: int) -> ControllerTask:
    zones = (replace(zone, need_mm_week=_twelve(needs, zone)[month]) for zone in task.zones)
    return replace(task, zones=tuple(zones))


def _twelve(needs: MonthlyNeeds, zone: ZoneNeed) -> Sequence[float]:
    values = needs.get(zone.zone_id, ())
    if len(values) != MONTHS:
        raise InvalidInputError(
            f"Zone {zone.zone_id} has {len(values)} needs.",
            field="needs_mm_week", code="twelve-months",
            remedy="Give twelve for each zone, January to December.",
        )  # fmt: skip
    return values


def _best_percent(task: ControllerTask, peak: ProgramFit, month: int) -> MonthSetting:
    """The cheapest percentage; above 100 the runs would outgrow their hours, so none is tried.

    All programs off is tried too, where the percentage cannot go down to nothing.
    """
    low, _ = task.ability.percent_range
    percents = range(FULL_PERCENT, low - 1, -task.ability.percent_step)
    patterns = [program.pattern for program in peak.programs]
    settings = [_setting(task, peak, month, patterns, one) for one in reversed(percents)]
    off = _setting(task, peak, month, [None] * len(peak.programs))
    return min([*settings, off], key=lambda setting: setting.cost)


def _best_days(task: ControllerTask, peak: ProgramFit, month: int) -> MonthSetting:
    """The cheapest days of all programs together, of which no two ever run at once.

    Branch and bound over the programs, each with its days from cheap to dear.
    """
    menus = [_days_menu(task, program) for program in peak.programs]
    floors = [menu[0][0] for menu in menus]
    best: list[tuple[float, list[DayPattern | None]]] = []

    def is_beaten(cost: float, number: int) -> bool:
        return bool(best) and cost + math.fsum(floors[number:]) >= best[0][0] - _ROUNDING

    def extend(chosen: list[DayPattern | None], cost: float) -> None:
        number = len(chosen)
        if number == len(menus):
            best[:] = [(cost, chosen)]
            return
        for more, pattern in menus[number]:
            if is_beaten(cost + more, number + 1):
                return
            if _is_free(peak.programs, chosen, pattern):
                extend([*chosen, pattern], cost + more)

    extend([], 0.0)
    return _setting(task, peak, month, best[0][1])


def _days_menu(
    task: ControllerTask, program: FittedProgram
) -> list[tuple[float, DayPattern | None]]:
    """Every day pattern on which the program may keep its hours, and none, with the cost."""
    mine = {zone_id for zone_id, _ in program.zone_minutes}
    zones = [zone for zone in task.zones if zone.zone_id in mine]
    costs: dict[Gaps | None, float] = {}
    menu = []
    for pattern in (None, *_allowed_patterns(task, program)):
        gaps = pattern.gaps if pattern else None
        if gaps not in costs:
            moved = replace(program, pattern=pattern) if pattern else None
            costs[gaps] = math.fsum(zone_fit(zone, moved).cost for zone in zones)
        menu.append((costs[gaps], pattern))
    return sorted(menu, key=lambda pair: pair[0])


def _allowed_patterns(task: ControllerTask, program: FittedProgram) -> Iterator[DayPattern]:
    rules = [task.rules_for(kind) for kind in sorted(program.kinds)]
    hours, (begin, end) = spans_of(rules), _span(program)
    for pattern in task.ability.patterns():
        if any(low <= begin and end <= high for low, high in spans_on(pattern, rules, hours)):
            yield pattern


def _span(program: FittedProgram) -> tuple[int, int]:
    """From its first start to the end of its last run [min of the day]."""
    starts = [start.hour * 60 + start.minute for start in program.start_times]
    return starts[0], starts[-1] + program.run_min


def _is_free(
    programs: Sequence[FittedProgram],
    chosen: Sequence[DayPattern | None],
    pattern: DayPattern | None,
) -> bool:
    if pattern is None:
        return True
    mine = _span(programs[len(chosen)])
    return not any(
        other is not None and _run_together(_span(program), other, mine, pattern)
        for program, other in zip(programs, chosen, strict=False)
    )


def _run_together(
    one: tuple[int, int], on: DayPattern, other: tuple[int, int], upon: DayPattern
) -> bool:
    if on.meets(upon) and one[0] < other[1] and other[0] < one[1]:
        return True
    if on.meets(upon, later=1) and one[1] > other[0] + MIN_PER_DAY:
        return True
    return upon.meets(on, later=1) and other[1] > one[0] + MIN_PER_DAY


def _setting(
    task: ControllerTask,
    peak: ProgramFit,
    month: int,
    patterns: Sequence[DayPattern | None],
    percent: int = FULL_PERCENT,
) -> MonthSetting:
    running = [
        replace(program, pattern=pattern)
        for program, pattern in zip(peak.programs, patterns, strict=True)
        if pattern is not None
    ]
    by_zone = {zone_id: program for program in running for zone_id, _ in program.zone_minutes}
    zones = tuple(zone_fit(zone, by_zone.get(zone.zone_id), percent) for zone in task.zones)
    names = [program.name for program in peak.programs]
    return MonthSetting(month, percent, tuple(zip(names, patterns, strict=True)), zones)
