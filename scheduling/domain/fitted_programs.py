"""A fitted year as it is kept, read as programs that run through any year."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from scheduling.domain.program_days import pattern_of
from scheduling.domain.program_waterings import EVERY_MONTH, MONTHS, DatedProgram
from scheduling.domain.replay_schedules import WHOLE_PERCENT


@dataclass(frozen=True, kw_only=True)
class FittedYear:
    """What is set on one controller in each month of any year.

    `zone_ids` took part in the fit, watered or not. In `months_missing` (1 to 12) nothing is set.
    """

    programs: tuple[DatedProgram, ...]
    monthly_percent: tuple[float, ...]
    zone_ids: frozenset[UUID]
    months_missing: tuple[int, ...]


def fitted_year(months: Sequence[Mapping[str, Any]]) -> FittedYear:
    """Return the programs of a kept year; what stays the same in several months is one program.

    Parameters
    ----------
    months : as `typed_programs.typed_months` writes them, each month once.
    """
    set_in: dict[DatedProgram, set[int]] = {}
    percents = [WHOLE_PERCENT] * MONTHS
    for month in months:
        percents[month["month"] - 1] = float(month["percent"])
        for program in _running(month):
            set_in.setdefault(program, set()).add(month["month"])
    return FittedYear(
        programs=tuple(
            DatedProgram(**{**vars(program), "months": frozenset(numbers)})
            for program, numbers in set_in.items()
        ),
        monthly_percent=tuple(percents),
        zone_ids=frozenset(UUID(zone["zone"]) for month in months for zone in month["zones"]),
        months_missing=tuple(sorted(EVERY_MONTH - {month["month"] for month in months})),
    )


def _running(month: Mapping[str, Any]) -> list[DatedProgram]:
    """Return the programs that are not off in a month."""
    patterns = ((program, pattern_of(program["pattern"])) for program in month["programs"])
    return [
        DatedProgram(
            days=days,
            start_times=tuple(dt.time.fromisoformat(start) for start in program["starts"]),
            zone_minutes=tuple(
                (UUID(run["zone"]), float(run["run_min"])) for run in program["minutes"]
            ),
        )
        for program, days in patterns
        if days is not None and program["starts"]
    ]
