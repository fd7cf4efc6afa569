"""The programs of a controller as a table that a person types from."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any, Final

from properties.domain.units import System
from properties.domain.watering_rules_words import depth_text, joined
from scheduling.domain.program_days import days_words, first_date, pattern_of

NO_NEED: Final = "no-need"
_LEAST_LOSS_MM: Final = 0.05
_NOON: Final = 12


@dataclass(frozen=True)
class ZoneName:
    """A zone as the labels beside the controller call it."""

    number: int
    name: str

    @property
    def label(self) -> str:
        """Number and name."""
        return f"{self.number} {self.name}"


@dataclass(frozen=True, kw_only=True)
class ZoneLine:
    """A zone of a program, in the order of its running; estimated: its rate was not measured."""

    zone: str
    number: int
    name: str
    run_min: int
    is_estimated: bool


@dataclass(frozen=True, kw_only=True)
class ProgramLines:
    """A program in the month that is looked at; `first_date` says from when an interval counts."""

    name: str
    days: str
    pattern: dict[str, Any] | None
    first_date: dt.date | None
    starts: tuple[dt.time, ...]
    zones: tuple[ZoneLine, ...]


@dataclass(frozen=True, kw_only=True)
class ProgramDays:
    """The days of a program in a month; `first_date` says from when an interval counts."""

    program: str
    days: str
    first_date: dt.date | None

    @property
    def words(self) -> str:
        """The days, with the date from which an interval counts."""
        if self.first_date is None:
            return self.days
        month = MONTH_NAMES[self.first_date.month - 1][:3]
        return f"{self.days} from {self.first_date.day} {month}"


@dataclass(frozen=True, kw_only=True)
class MonthLine:
    """What changes in a month: the percentage and the days; and the hours of its busiest day."""

    month: int
    percent: int
    days: tuple[ProgramDays, ...]
    busiest_day_min: float
    window_min: int
    is_proven: bool


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """Starts and minutes, and the months in which they stay."""

    months: tuple[int, ...]
    programs: tuple[ProgramLines, ...]


@dataclass(frozen=True, kw_only=True)
class NotMet:
    """What could not be met in the thirstiest month; `zone` None is all of them."""

    zone: str | None
    code: str
    month: int
    shortfall_mm_week: float | None
    excess_mm_week: float | None
    sentence: str
    cure: str


@dataclass(frozen=True, kw_only=True)
class PlanUsed:
    """The revision of a zone's plan that was fitted, and the newest one."""

    zone: str
    number: int
    newest: int


@dataclass(frozen=True, kw_only=True)
class ProgramTable:
    """All of it. `sheets` are for the whole year, `programs` for the month that is looked at."""

    property_name: str
    controller_name: str
    number: int
    style: str
    fitted_at: dt.datetime
    month: int
    percent: int
    programs: tuple[ProgramLines, ...]
    sheets: tuple[Sheet, ...]
    months: tuple[MonthLine, ...]
    not_met: tuple[NotMet, ...]
    left_out: tuple[str, ...]
    remarks: tuple[str, ...]
    plans: tuple[PlanUsed, ...]
    gap_mm_week: float
    quality: str

    @property
    def is_stale(self) -> bool:
        """Whether a zone has a newer plan than the one that was fitted."""
        return any(plan.newest > plan.number for plan in self.plans)

    @property
    def has_estimates(self) -> bool:
        """Whether the rate of any zone was not measured."""
        return any(
            zone.is_estimated
            for sheet in self.sheets for program in sheet.programs for zone in program.zones
        )  # fmt: skip

    @property
    def hours(self) -> MonthLine:
        """The month whose busiest day leaves the least of its hours."""
        return max(self.months, key=lambda one: one.busiest_day_min / max(one.window_min, 1))


class TableParts:
    """Reads a stored year: the zones by their names, and how to write of them."""

    def __init__(
        self, zones: Mapping[str, ZoneName], estimated: Sequence[str], units: System
    ) -> None:
        self._zones, self._estimated, self._units = zones, frozenset(estimated), units

    def programs(self, month: Mapping[str, Any], on: dt.date) -> tuple[ProgramLines, ...]:
        """Return the programs of a month; intervals are counted from the first day at or after."""
        return tuple(self._program(program, on) for program in month["programs"])

    def sheets(self, months: Sequence[Mapping[str, Any]], on: dt.date) -> Iterator[Sheet]:
        """Yield what stays, with the months in which it does; days are those of the first."""

        def typed(month: Mapping[str, Any]) -> str:
            return str([(p["name"], p["starts"], p["minutes"]) for p in month["programs"]])

        ordered = sorted(months, key=lambda month: (typed(month), month["month"]))
        found = [list(same) for _, same in groupby(ordered, key=typed)]
        for same in sorted(found, key=lambda each: each[0]["month"]):
            numbers = tuple(month["month"] for month in same)
            yield Sheet(months=numbers, programs=self.programs(same[0], on))

    def not_met(self, unmet: Mapping[str, Any]) -> NotMet:
        """Return what could not be met, with the loss in its sentence."""
        name = self._zones.get(str(unmet["zone_id"]))
        whose = f"Zone {name.label}: " if name else ""
        return NotMet(
            zone=unmet["zone_id"],
            code=unmet["code"],
            month=unmet["month"],
            shortfall_mm_week=unmet["shortfall_mm_week"],
            excess_mm_week=unmet["excess_mm_week"],
            sentence=f"{whose}{unmet['sentence']}{self._loss(unmet)}",
            cure=unmet["cure"],
        )

    def _loss(self, unmet: Mapping[str, Any]) -> str:
        lacks, wastes = unmet["shortfall_mm_week"] or 0.0, unmet["excess_mm_week"] or 0.0
        parts = []
        if lacks > _LEAST_LOSS_MM:
            need = depth_text(unmet["need_mm_week"], self._units)
            parts.append(f"lacks {depth_text(lacks, self._units)} of {need} a week")
        if wastes > _LEAST_LOSS_MM:
            parts.append(f"gets {depth_text(wastes, self._units)} a week more than it can use")
        if not parts:
            return ""
        return f" In {MONTH_NAMES[unmet['month'] - 1]} it {joined(parts)}."

    def _program(self, program: Mapping[str, Any], on: dt.date) -> ProgramLines:
        pattern = pattern_of(program["pattern"])
        return ProgramLines(
            name=program["name"],
            days=days_words(pattern),
            pattern=program["pattern"],
            first_date=first_date(pattern, on),
            starts=tuple(dt.time.fromisoformat(start) for start in program["starts"]),
            zones=tuple(self._zone(run["zone"], run["run_min"]) for run in program["minutes"]),
        )

    def _zone(self, zone: str, run_min: int) -> ZoneLine:
        name = self._zones[zone]
        return ZoneLine(
            zone=zone, number=name.number, name=name.name, run_min=run_min,
            is_estimated=zone in self._estimated,
        )  # fmt: skip


def month_line(month: Mapping[str, Any], on: dt.date) -> MonthLine:
    """Return what changes in a month of a stored year, that month to come after a day."""
    first = first_day(month["month"], on)
    days = tuple(_days(program, first) for program in month["programs"])
    return MonthLine(
        month=month["month"],
        percent=month["percent"],
        days=days,
        busiest_day_min=month["busiest_day_min"],
        window_min=month["window_min"],
        is_proven=month["is_proven"],
    )


def first_day(month: int, on: dt.date) -> dt.date:
    """Return the first day of a month to come, or the day itself in its own month."""
    return on if month == on.month else dt.date(on.year + (month < on.month), month, 1)


def _days(program: Mapping[str, Any], on: dt.date) -> ProgramDays:
    pattern = pattern_of(program["pattern"])
    return ProgramDays(
        program=program["name"], days=days_words(pattern), first_date=first_date(pattern, on)
    )


def quality_sentence(gap_mm_week: float, units: System, *, months_proven: bool) -> str:
    """Return how far from the best the fit may be."""
    if gap_mm_week > 0:
        depth = depth_text(gap_mm_week, units)
        return f"The search ended early: a fit that is better by up to {depth} a week may exist."
    if not months_proven:
        return "Proven best in the thirstiest month; in others better days may exist."
    return "Proven: nothing that the controller can be set to comes nearer to the need."


def time_text(time: dt.time, units: System) -> str:
    """Return a time as the people of a unit system write it: 17:30, or 5:30 PM."""
    if units == "metric":
        return f"{time:%H:%M}"
    hour = time.hour % _NOON or _NOON
    return f"{hour}:{time:%M} {'AM' if time.hour < _NOON else 'PM'}"


MONTH_NAMES: Final = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip
