"""Whether a zone may be watered on a date, when, and how much: all rules that hold together.

The strictest wins: the minutes are those that every rule allows, the caps the least of all. No rule
allows everything, and the answer says so; rules that leave no common minute are named.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import reduce
from typing import Final

from properties.domain.units import System
from properties.domain.watering_rules import DistrictRules, Purpose, TestRuns, WateringRule
from properties.domain.watering_rules_cases import (
    Caps,
    Case,
    caps_of,
    holding,
    minutes_of,
    windows_begun,
)
from properties.domain.watering_rules_hours import DAY_MIN, WHOLE_DAY, Ranges, clipped, common
from properties.domain.watering_rules_regimes import regime_of, stage_remark, unnumbered_remark
from properties.domain.watering_rules_words import Regime, day_text, joined, regime_sentence

LOOKED_AHEAD_DAYS: Final = 14
_DAY: Final = dt.timedelta(days=1)


class Refusal(StrEnum):
    """Why a zone may not run on a date; NONE where it may."""

    NONE = ""
    BAN = "ban"
    NOT_THE_DAY = "not_the_day"
    RULES_CONTRADICT = "rules_contradict"


@dataclass(frozen=True, kw_only=True)
class AllowedDay:
    """The answer for one date.

    `hours` are the minutes of the date in which the zone may run, by its wall clock;
    `is_watering_day` tells that a window begins on the date, and is not only the rest of the night
    before; `runs_on_to_min` is how far into the next day a run of the last window may go on. The
    caps hold for the whole date. `decided_by` are the rules that refused the date, or else those
    that hold on it.
    """

    date: dt.date
    purpose: Purpose
    hours: Ranges
    is_watering_day: bool
    runs_on_to_min: int
    minutes_cap: float | None
    depth_cap_mm: float | None
    refusal: Refusal
    needs_exemption: bool
    next_date: dt.date | None
    decided_by: tuple[WateringRule, ...]
    regime: Regime
    remarks: tuple[str, ...] = ()

    @property
    def is_allowed(self) -> bool:
        """Return whether the zone may run at some time of the date."""
        return self.refusal is Refusal.NONE

    def sentence(self, units: System = "us") -> str:
        """Return the rules that hold on the date as a client understands them."""
        return regime_sentence(self.regime, units)

    def verdict(self) -> str:
        """Return the answer for the date in words."""
        if self.is_allowed:
            return f"Allowed on {day_text(self.date)}."
        names = joined([rule.name for rule in self.decided_by])
        if self.refusal is Refusal.RULES_CONTRADICT:
            return (
                f"Not on {day_text(self.date)}: {names} contradict each other and leave no "
                "common hour. Ask the district which of them holds."
            )
        return f"Not on {day_text(self.date)}, by {names}{self._next_text()}."

    def _next_text(self) -> str:
        cure = "; it needs an exemption" if self.needs_exemption else ""
        return f"{cure}; next on {day_text(self.next_date)}" if self.next_date else cure


def allowed_on(district: DistrictRules | None, case: Case, day: dt.date) -> AllowedDay:
    """Return whether, when and how much a zone may be watered on a date.

    Parameters
    ----------
    district : the rules of the place; None where it lies in no district.
    case : the place, the zone and the purpose.
    day : the local date at the place.
    """
    rules = holding(district, case, day) if district else ()
    hours, begun = _hours_on(district, case, day)
    refused = _refused_by(district, case, day, rules) if not hours else ()
    answer = AllowedDay(
        date=day,
        purpose=case.purpose,
        hours=hours,
        is_watering_day=bool(begun),
        runs_on_to_min=_runs_on_to(district, case, day, hours),
        minutes_cap=_caps(rules, case, day).minutes,
        depth_cap_mm=_caps(rules, case, day).depth_mm,
        refusal=Refusal.NONE,
        needs_exemption=False,
        next_date=None,
        decided_by=rules,
        regime=regime_of(rules, case, day),
        remarks=_remarks(district, case, day, rules),
    )
    return answer if hours else _refusing(answer, district, case, refused)


def is_watering_day(district: DistrictRules, case: Case, day: dt.date) -> bool:
    """Return what `allowed_on` tells under that name, for those who ask of many dates."""
    return bool(_begun(holding(district, case, day), case, day))


def _refusing(
    answer: AllowedDay,
    district: DistrictRules | None,
    case: Case,
    refused_by: tuple[WateringRule, ...],
) -> AllowedDay:
    """Say of a date without hours why, by which rules, and which date is the next."""
    following = (answer.date + _DAY * ahead for ahead in range(1, LOOKED_AHEAD_DAYS + 1))
    next_date = next((day for day in following if _hours_on(district, case, day)[0]), None)
    why = _why(refused_by, answer.regime, next_date)
    needs = all(rule.test_runs is TestRuns.EXEMPTION for rule in refused_by)
    return replace(
        answer,
        refusal=why,
        needs_exemption=case.purpose is Purpose.TEST_RUN and needs,
        next_date=next_date,
        decided_by=answer.decided_by if why is Refusal.RULES_CONTRADICT else refused_by,
    )


def _why(
    refused_by: tuple[WateringRule, ...], regime: Regime, next_date: dt.date | None
) -> Refusal:
    if _bans(refused_by):
        return Refusal.BAN
    leaves_some = regime.weekdays and regime.hours
    return Refusal.NOT_THE_DAY if leaves_some or next_date else Refusal.RULES_CONTRADICT


def _bans(rules: tuple[WateringRule, ...]) -> bool:
    return any(rule.is_ban for rule in rules)


def _refused_by(
    district: DistrictRules | None, case: Case, day: dt.date, rules: tuple[WateringRule, ...]
) -> tuple[WateringRule, ...]:
    """Return the rules that leave the date no minute; all of them where only together they do."""
    before = holding(district, case, day - _DAY) if district else ()
    alone = tuple(
        rule for rule in rules if not minutes_of(rule, case, day, held_before=rule in before)
    )
    return alone or rules


def _hours_on(district: DistrictRules | None, case: Case, day: dt.date) -> tuple[Ranges, Ranges]:
    """Return the minutes that all rules allow, and those of windows that begin on the date."""
    if district is None:
        return WHOLE_DAY, WHOLE_DAY
    rules, before = holding(district, case, day), holding(district, case, day - _DAY)
    every = [minutes_of(rule, case, day, held_before=rule in before) for rule in rules]
    return reduce(common, every, WHOLE_DAY), _begun(rules, case, day)


def _begun(rules: tuple[WateringRule, ...], case: Case, day: dt.date) -> Ranges:
    """Return the minutes of windows that begin on a date."""
    begun = (clipped(windows_begun(rule, case, day), 0, DAY_MIN) for rule in rules)
    return reduce(common, begun, WHOLE_DAY)


def _runs_on_to(district: DistrictRules | None, case: Case, day: dt.date, hours: Ranges) -> int:
    if not hours or hours[-1].end_min < DAY_MIN:
        return 0
    following, _ = _hours_on(district, case, day + _DAY)
    return following[0].end_min if following and following[0].start_min == 0 else 0


def _caps(rules: tuple[WateringRule, ...], case: Case, day: dt.date) -> Caps:
    return reduce(Caps.with_caps, (caps_of(rule, case, day) for rule in rules), Caps())


def _remarks(
    district: DistrictRules | None, case: Case, day: dt.date, rules: tuple[WateringRule, ...]
) -> tuple[str, ...]:
    if district is None:
        return ("No watering district is known for this address, so no rule is applied.",)
    unnumbered = unnumbered_remark(district, case, day)
    none = (f"No rule of {district.name} holds here on this date.",) if not rules else ()
    stages = (stage_remark(district, period) for period in district.stages_on(day))
    return (*stages, *none, *((unnumbered,) if unnumbered else ()))
