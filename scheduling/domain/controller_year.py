"""A whole year on the controllers of one supply: the same sheet of programs while the rules hold.

Months under the same rules make a spell. In each spell starts and minutes stay as the thirstiest
month wants them, and either the days or the seasonal percentage change from month to month.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Final

from scheduling.domain.programs import (
    ControllerTask,
    FittedProgram,
    MonthlyNeeds,
    MonthSetting,
    ProgramFit,
    SeasonFit,
    Stop,
    fit_controllers,
    season_by_days,
    season_by_percent,
)
from scheduling.domain.programs_results import Unmet, zone_fit

FULL_PERCENT: Final = 100
_SEASONS: Final = {"days": season_by_days, "percent": season_by_percent}


class YearStyle(StrEnum):
    """What changes from month to month while starts and minutes stay."""

    DAYS = "days"
    PERCENT = "percent"


@dataclass(frozen=True, kw_only=True)
class Spell:
    """Months (1 to 12) under the same rules, and the controllers as they are asked then.

    `needs_mm_week` holds twelve needs of each zone [mm a week, gross], nil outside of the spell.
    """

    months: tuple[int, ...]
    tasks: tuple[ControllerTask, ...]
    needs_mm_week: MonthlyNeeds


@dataclass(frozen=True, kw_only=True)
class SpellFit:
    """What one controller is set to in a spell; cost and gap are of its thirstiest month.

    `programs` carry the days of that month. `gap` is how far from the best the programs of that
    month may be [weighted mm a week], of all controllers that were fitted together.
    """

    controller: str
    style: YearStyle
    peak_month: int
    programs: tuple[FittedProgram, ...]
    months: tuple[MonthSetting, ...]
    unmet: tuple[Unmet, ...]
    cost: float
    gap: float
    stopped_early: bool


def fit_spell(
    spell: Spell, style: YearStyle, supply_l_min: float | None, stop: Stop
) -> tuple[SpellFit, ...]:
    """Return what each controller is set to in a spell, never together beyond the supply.

    Controllers whose thirstiest zones together exceed the supply take turns; what changes then is
    the percentage, since on other days they might meet. The others are fitted each by itself.

    Parameters
    ----------
    spell : the months, the controllers, and what their zones need.
    style : what changes from month to month.
    supply_l_min : flow of the supply [L/min]; None where a single controller has it.
    stop : the stop rule of each fit.

    Raises
    ------
    InvalidInputError
        Where the supply binds and the flow of a zone is missing or more than the supply gives.
    """
    if supply_l_min is not None and _take_turns(spell.tasks, supply_l_min):
        return _in_turns(spell, supply_l_min, stop)
    seasons = [_SEASONS[style](task, spell.needs_mm_week, stop) for task in spell.tasks]
    return tuple(
        _alone(task, season, style, spell.months)
        for task, season in zip(spell.tasks, seasons, strict=True)
    )


def _take_turns(tasks: Sequence[ControllerTask], supply_l_min: float) -> bool:
    """Whether all controllers at once might take too much; an unknown flow might."""
    flows = [max(zone.flow_l_min or math.inf for zone in task.zones) for task in tasks]
    return len(tasks) > 1 and math.fsum(flows) > supply_l_min


def _alone(
    task: ControllerTask, season: SeasonFit, style: YearStyle, months: Sequence[int]
) -> SpellFit:
    settings = tuple(one for one in season.months if one.month in months)
    return _of_controller(task, season.peak, settings, style=style, peak_month=season.peak_month)


def _of_controller(
    task: ControllerTask,
    fit: ProgramFit,
    settings: tuple[MonthSetting, ...],
    *,
    style: YearStyle,
    peak_month: int,
) -> SpellFit:
    mine = {zone.zone_id for zone in task.zones}
    return SpellFit(
        controller=task.name,
        style=style,
        peak_month=peak_month,
        programs=tuple(one for one in fit.programs if one.controller == task.name),
        months=settings,
        unmet=tuple(one for one in fit.unmet if one.zone_id is None or one.zone_id in mine),
        cost=math.fsum(zone.cost for zone in fit.zones if zone.zone_id in mine),
        gap=fit.gap,
        stopped_early=fit.stopped_early,
    )


def _in_turns(spell: Spell, supply_l_min: float, stop: Stop) -> tuple[SpellFit, ...]:
    peak = max(spell.months, key=lambda month: _thirst(spell, month))  # of equals the first
    fit = fit_controllers([_asked(task, spell, peak) for task in spell.tasks], supply_l_min, stop)
    fits = []
    for task in spell.tasks:
        programs = tuple(one for one in fit.programs if one.controller == task.name)
        settings = tuple(
            _best_percent(_asked(task, spell, month), programs, month) for month in spell.months
        )
        of = _of_controller(task, fit, settings, style=YearStyle.PERCENT, peak_month=peak)
        fits.append(of)
    return tuple(fits)


def _thirst(spell: Spell, month: int) -> float:
    asked = (_asked(task, spell, month) for task in spell.tasks)
    return math.fsum(
        zone.ruling_weight * zone.need_mm_week for task in asked for zone in task.zones
    )


def _asked(task: ControllerTask, spell: Spell, month: int) -> ControllerTask:
    needs = spell.needs_mm_week
    zones = (replace(zone, need_mm_week=needs[zone.zone_id][month - 1]) for zone in task.zones)
    return replace(task, zones=tuple(zones))


def _best_percent(
    task: ControllerTask, programs: Sequence[FittedProgram], month: int
) -> MonthSetting:
    """The cheapest percentage, or all off; above 100 runs would outgrow their turns."""
    least, _ = task.ability.percent_range
    percents = range(FULL_PERCENT, least - 1, -task.ability.percent_step)
    settings = [_setting(task, programs, month, percent) for percent in reversed(percents)]
    return min([_setting(task, programs, month, 0), *settings], key=lambda one: one.cost)


def _setting(
    task: ControllerTask, programs: Sequence[FittedProgram], month: int, percent: int
) -> MonthSetting:
    """What a percentage gives; 0 is all programs off, which leaves the percentage at 100."""
    by_zone: Mapping[object, FittedProgram] = {
        zone_id: program for program in programs if percent for zone_id, _ in program.zone_minutes
    }
    zones = tuple(zone_fit(zone, by_zone.get(zone.zone_id), percent) for zone in task.zones)
    patterns = tuple((one.name, one.pattern if percent else None) for one in programs)
    return MonthSetting(month, percent or FULL_PERCENT, patterns, zones)
