"""What to change on a controller, each change as values and as a sentence."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from properties.domain.units import System
from scheduling.domain.program_days import days_words
from scheduling.domain.program_steps import (
    DaysStep,
    MinutesStep,
    PercentStep,
    SetProgram,
    SetState,
    StartsStep,
    Step,
    program_steps,
)
from scheduling.domain.program_table import ZoneName, time_text

__all__ = ["NOTHING", "Change", "SetProgram", "program_changes"]

NOTHING: Final = "Nothing to change."
_NONE: Final = "none"
_COUNTS: Final = ("no start", "one start", "two starts", "three starts", "four starts")


@dataclass(frozen=True, kw_only=True)
class Change:
    """One thing to change: of a program (None: of the controller), and of a zone in it (or None).

    `field` is percent, days, starts or minutes; `before` and `after` are as a person reads them.
    """

    program: str | None
    field: str
    before: str
    after: str
    sentence: str
    zone: str | None = None


def program_changes(
    now: Sequence[SetProgram],
    then: Sequence[SetProgram],
    *,
    percents: tuple[int, int],
    zones: Mapping[str, ZoneName],
    units: System,
) -> tuple[Change, ...]:
    """Return what to change, program by program; nothing where the controller waters so already.

    Parameters
    ----------
    now, then : what is set, and what should be; compared as `program_steps` tells.
    percents : the seasonal percentage now and then [%].
    zones : the names of the zones by id.
    units : how times of day are written.
    """
    before, after = (
        SetState(tuple(programs), percent)
        for programs, percent in zip((now, then), percents, strict=True)
    )
    return tuple(_change(step, zones, units) for step in program_steps(before, after, zones))


def _change(step: Step, zones: Mapping[str, ZoneName], units: System) -> Change:
    if isinstance(step, PercentStep):
        return _percent(step)
    if isinstance(step, DaysStep):
        before, after = days_words(step.before), days_words(step.after)
        is_off = step.after is None
        return _of_program(step.program, "days", before, after, "switch it off" if is_off else "")
    if isinstance(step, StartsStep):
        return _of_program(
            step.program, "starts", _starts(step.before, units), _starts(step.after, units)
        )
    return _minutes(step, zones)


def _percent(step: PercentStep) -> Change:
    before, after = f"{step.before} %", f"{step.after} %"
    return Change(
        program=None, field="percent", before=before, after=after,
        sentence=f"Seasonal percentage: {before} -> {after}",
    )  # fmt: skip


def _minutes(step: MinutesStep, zones: Mapping[str, ZoneName]) -> Change:
    label = zones[step.zone].label if step.zone in zones else step.zone
    times = f", {_times(step.starts)}" if step.after and step.starts > 1 else ""
    return _of_program(
        step.program, "minutes", f"{step.before} min", f"{step.after} min{times}",
        f"zone {label}: {step.before} -> {step.after} min{times}", zone=step.zone,
    )  # fmt: skip


def _of_program(
    program: str, field: str, before: str, after: str, what: str = "", *, zone: str | None = None
) -> Change:
    sentence = f"Program {program}: {what or f'{field} {before} -> {after}'}"
    return Change(
        program=program, field=field, before=before, after=after, sentence=sentence, zone=zone
    )


def _starts(starts: Sequence[dt.time], units: System) -> str:
    return ", ".join(time_text(start, units) for start in starts) or _NONE


def _times(starts: int) -> str:
    return _COUNTS[starts] if starts < len(_COUNTS) else f"{starts} starts"
