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
MOST_TRIES: Final = 5000
_ROUNDING: Final = 1e-9

_DaysMenu = list[tuple[float, DayPattern | None]]
MonthlyNeeds = Mapping[Hashable, Sequence[float]]


@dataclass(frozen=True)
class MonthSetting:
    """What the controller is set to in a month, and what the zones get of it.

    `patterns` pairs each program with its days, None where it is switched off. `percent` is the
    seasonal adjustment [%]. `is_proven` says that no other days, or percentage, cost less.
    """

    month: int
    percent: int
    patterns: tuple[tuple[str, DayPattern | None], ...]
    zones: tuple[ZoneFit, ...]
    is_proven: bool = True

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
    """The cheapest days of all programs together, of which no two ever run at once."""
    menus = [_days_menu(task, program) for program in peak.programs]
    chosen, is_proven = _DaysSearch(peak.programs, menus, MOST_TRIES).best()
    return replace(_setting(task, peak, month, chosen), is_proven=is_proven)


@dataclass
class _DaysSearch:
    """Days for each program, from cheap to dear; which of them no other program stands in.

    Branch and bound over the programs, up to a number of tries.
    """

    programs: Sequence[FittedProgram]
    menus: Sequence[_DaysMenu]
    tries: int
    cost: float = math.inf
    found: Sequence[DayPattern | None] = ()

    def best(self) -> tuple[Sequence[DayPattern | None], bool]:
        """Return the cheapest days found, and whether nothing is cheaper."""
        self._keep(self._settled([program.pattern for program in self.programs]))
        self._extend([], 0.0)
        self._keep(self._settled(self.found))
        return self.found, self.tries > 0

    def _settled(self, days: Sequence[DayPattern | None]) -> list[DayPattern | None]:
        """One program after the other at its cheapest beside the rest, until none is changed."""
        now, before = list(days), None
        while now != before:
            before = list(now)
            for number, menu in enumerate(self.menus):
                now[number] = next(p for _, p in menu if self._is_free(number, p, now))
        return now

    def _keep(self, days: Sequence[DayPattern | None]) -> None:
        costs = ({p: cost for cost, p in menu} for menu in self.menus)
        cost = math.fsum(its[pattern] for its, pattern in zip(costs, days, strict=True))
        if cost < self.cost - _ROUNDING:
            self.cost, self.found = cost, days

    def _extend(self, chosen: list[DayPattern | None], cost: float) -> None:
        number = len(chosen)
        if number == len(self.menus):
            self.cost, self.found = cost, chosen
            return
        rest = math.fsum(menu[0][0] for menu in self.menus[number + 1 :])
        for more, pattern in self.menus[number]:
            if cost + more + rest >= self.cost - _ROUNDING or self.tries <= 0:
                return
            self.tries -= 1
            if self._is_free(number, pattern, chosen):
                self._extend([*chosen, pattern], cost + more)

    def _is_free(
        self, number: int, pattern: DayPattern | None, days: Sequence[DayPattern | None]
    ) -> bool:
        """Whether a program on such days never runs together with the others on theirs."""
        if pattern is None:
            return True
        mine = _span(self.programs[number])
        return not any(
            upon is not None
            and other != number
            and _run_together(_span(self.programs[other]), upon, mine, pattern)
            for other, upon in enumerate(days)
        )


def _days_menu(task: ControllerTask, program: FittedProgram) -> _DaysMenu:
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
    soaks = {zone.zone_id: zone.soak_min for zone in task.zones}
    longest = max(minutes + soaks[zone_id] for zone_id, minutes in program.zone_minutes)
    last_start = end - program.run_min
    for pattern in task.ability.patterns():
        rest_min = MIN_PER_DAY * min(gap for gap, _ in pattern.gaps) - (last_start - begin)
        spans = spans_on(pattern, rules, hours)
        if rest_min >= longest and any(low <= begin and end <= high for low, high in spans):
            yield pattern


def _span(program: FittedProgram) -> tuple[int, int]:
    """From its first start to the end of its last run [min of the day]."""
    starts = [start.hour * 60 + start.minute for start in program.start_times]
    return starts[0], starts[-1] + program.run_min


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
