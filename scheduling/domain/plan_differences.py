"""What a revision of a plan changes against the one before: month by month, and why."""

from __future__ import annotations

import calendar
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

from properties.domain.watering_rules_words import WEEKDAYS, joined, minutes_text
from scheduling.domain.plan_causes import Cause, Change, causes_of


@dataclass(frozen=True)
class KeptPlan:
    """A stored revision: the numbers of its months and the inputs that made it, as they are kept.

    `test` and `station` tell one from another; no test for an estimated plan.
    """

    test: str | None
    station: str
    inputs: Mapping[str, Any]
    months: tuple[Mapping[str, Any], ...]


@dataclass(frozen=True)
class MonthDifference:
    """What is set otherwise in one month, in a sentence and in numbers."""

    month: int
    sentence: str
    changes: tuple[Change, ...]


@dataclass(frozen=True)
class PlanDifference:
    """The months in which something else is set, and which inputs changed."""

    months: tuple[MonthDifference, ...]
    causes: tuple[Cause, ...]


# What a person sets, and beside it what that comes to in a week.
_NUMBERS: Final = (
    ("minutes", ""), ("days_between", ""), ("weekdays", ""), ("waterings_per_day", ""),
    ("cycles", ""), ("cycle_min", ""), ("soak_min", ""), ("weekly_gross_mm", "depth"),
)  # fmt: skip


def plan_difference(before: KeptPlan, after: KeptPlan) -> PlanDifference:
    """Return what a revision changes against the one before it.

    Parameters
    ----------
    before, after : two revisions of one zone's plan; months from January on.
    """
    months = zip(before.months, after.months, strict=True)
    return PlanDifference(
        months=tuple(
            _month_difference(old, new) for old, new in months if _is_set_otherwise(old, new)
        ),
        causes=causes_of(before, after),
    )


def _is_set_otherwise(old: Mapping[str, Any], new: Mapping[str, Any]) -> bool:
    return any(old[name] != new[name] for name, of in _NUMBERS if not of)


def _month_difference(old: Mapping[str, Any], new: Mapping[str, Any]) -> MonthDifference:
    name = calendar.month_name[new["month"]]
    return MonthDifference(
        month=new["month"],
        sentence=f"{name}: {'; '.join(_clauses(old, new))}.",
        changes=tuple(
            Change(name, old[name], new[name], of)
            for name, of in _NUMBERS
            if old[name] != new[name]
        ),
    )


def _clauses(old: Mapping[str, Any], new: Mapping[str, Any]) -> Iterator[str]:
    if not new["cycles"]:
        yield "not watered any more"
        return
    if not old["cycles"]:
        yield f"watered now, {_minutes(new)} {_days(new)}, in {_cycles(new)}"
        return
    for words in (_minutes, _days, _times, _cycles):
        was, now = words(old), words(new)
        if was != now:
            yield f"{now} instead of {was}"


def _minutes(month: Mapping[str, Any]) -> str:
    return minutes_text(month["minutes"])


def _days(month: Mapping[str, Any]) -> str:
    if month["weekdays"] is not None:
        days = joined([WEEKDAYS[day] for day in month["weekdays"]])
        weeks = month["days_between"] // len(WEEKDAYS)
        is_sparse = len(month["weekdays"]) == 1 and weeks > 1
        return f"on {days} of every {weeks} weeks" if is_sparse else f"on {days}"
    return "every day" if month["days_between"] == 1 else f"every {month['days_between']} days"


def _times(month: Mapping[str, Any]) -> str:
    times = month["waterings_per_day"]
    return "once a day" if times == 1 else f"{times} times a day"


def _cycles(month: Mapping[str, Any]) -> str:
    if month["cycles"] == 1:
        return "one go"
    each, soak = minutes_text(month["cycle_min"]), minutes_text(month["soak_min"])
    return f"{month['cycles']} cycles of {each} with a soak of {soak}"
