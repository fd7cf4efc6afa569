"""How long a controller runs on its busiest day, against the hours that it may run in."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from scheduling.domain.programs import ControllerTask, DayPattern, FittedProgram

_DAYS: Final = 420  # all patterns of up to seven days have come round


def busiest_day_min(programs: Sequence[tuple[FittedProgram, DayPattern]], percent: int) -> float:
    """Return how long all starts of the busiest day run together [min].

    Parameters
    ----------
    programs : those that run, each with its days.
    percent : the seasonal percentage [%].
    """
    runs = [(one.run_min * len(one.start_times), pattern) for one, pattern in programs]
    days = (sum(run for run, days in runs if days.may_run_on(day)) for day in range(_DAYS))
    return max(days) * percent / 100


def window_min(task: ControllerTask) -> int:
    """Return the minutes of a day in which any zone of a controller may run [min]."""
    allowed = [task.rules_for(kind).minutes() for kind in {zone.kind for zone in task.zones}]
    return len(frozenset[int]().union(*allowed))
