"""Many zones on one real controller: the programs to type in, and what they cannot grant.

A program is a list of zones with minutes, its start times and its days; each start runs the whole
list. Cycles are repeated starts: while the other zones run, and until the next start, a zone soaks.

What is chosen among: each zone is in one program at most; drip and sprinklers share none, unless
the controller has a single one; all starts of a program lie in one stretch of allowed hours; a
program has ended before another begins; two programs of a kind differ in their days, starts or
hours. Among all such settings the cheapest is sought, and how far from it the answer may be is
told.

The cost is the shortfall and the excess of every zone [mm a week], gross, times its weight. What
the plants can use of a gap between two waterings is no more than their roots last.
"""

from __future__ import annotations

from collections.abc import Sequence

from scheduling.domain import programs_season
from scheduling.domain.programs_fit import fit_tasks
from scheduling.domain.programs_linear import Stop
from scheduling.domain.programs_patterns import DayPattern
from scheduling.domain.programs_problem import (
    ControllerAbility,
    ControllerTask,
    HourWindow,
    ProgramRules,
    ZoneKind,
    ZoneNeed,
    zone_weight,
)
from scheduling.domain.programs_results import FittedProgram, ProgramFit, Unmet, ZoneFit
from scheduling.domain.programs_season import MonthlyNeeds, MonthSetting, SeasonFit

__all__ = [
    "ControllerAbility", "ControllerTask", "DayPattern", "FittedProgram", "HourWindow",
    "MonthSetting", "MonthlyNeeds", "ProgramFit", "ProgramRules", "SeasonFit", "Stop", "Unmet",
    "ZoneFit", "ZoneKind", "ZoneNeed", "fit_controllers", "fit_programs", "season_by_days",
    "season_by_percent", "zone_weight",
]  # fmt: skip

DEFAULT_STOP = Stop()


def fit_programs(task: ControllerTask, stop: Stop = DEFAULT_STOP) -> ProgramFit:
    """Return the programs of one controller that come nearest to what its zones need.

    1. Share the zones out among ways of running, as if the hours never ran out: a bound.
    2. Put that on days and hours. Where it finds room, it is the best there is.
    3. Otherwise give the minutes of a week a price, for a higher bound and better ways of running,
       and change one program after the other for a better one, until the time is over.
    4. Say for each zone that is not met which limits stand in the way, and what cures it.

    Parameters
    ----------
    task : the controller, its zones with their needs [mm a week], and the rules.
    stop : seconds of the whole fit, nodes and rounds after which the best so far is returned and
        marked, with its gap.

    Raises
    ------
    InvalidInputError
        For what cannot be, on making `task`: no zone, no program, a window that never opens ...
    """
    return fit_tasks([task], None, stop)


def fit_controllers(
    tasks: Sequence[ControllerTask], supply_l_min: float | None, stop: Stop = DEFAULT_STOP
) -> ProgramFit:
    """Return the programs of several controllers on one supply, never together beyond its flow.

    Two controllers take turns where their thirstiest zones together exceed the supply [L/min]; None
    is a supply without limit. Each zone then needs its flow. The seconds are shared by all.

    Raises
    ------
    InvalidInputError
        Where a flow is missing, a zone takes more than the supply gives, or names are not unique.
    """
    return fit_tasks(tasks, supply_l_min, stop)


def season_by_days(
    task: ControllerTask, needs_mm_week: MonthlyNeeds, stop: Stop = DEFAULT_STOP
) -> SeasonFit:
    """Return twelve months with the same minutes and changing days between.

    Starts and minutes are those of the month that is thirstiest by weight; in every month the
    programs take the days that cost least, or are off.

    Parameters
    ----------
    task : the controller; the needs that its zones carry are not looked at.
    needs_mm_week : for each zone, by id, twelve gross needs [mm a week], January first.
    stop : the stop rule of the peak month's fit.
    """
    return programs_season.season_by_days(task, needs_mm_week, stop)


def season_by_percent(
    task: ControllerTask, needs_mm_week: MonthlyNeeds, stop: Stop = DEFAULT_STOP
) -> SeasonFit:
    """Return twelve months with the same days and a changing seasonal percentage.

    Starts, days and minutes are those of the month that is thirstiest by weight, at 100 %; in every
    month the percentage, on the controller's step and never above 100, costs least. Minutes are
    taken exactly, unrounded.

    Parameters
    ----------
    task, needs_mm_week, stop : as in `season_by_days`.
    """
    return programs_season.season_by_percent(task, needs_mm_week, stop)
