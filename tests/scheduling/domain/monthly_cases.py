"""Controllers and facts for the tests of the monthly notice."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

from scheduling.domain.monthly_facts import (
    ControllerSteps,
    FittedSteps,
    KnownState,
    MonthlyFacts,
    Source,
    ZoneStep,
)
from scheduling.domain.monthly_notice import monthly_content
from scheduling.domain.notice_words import notice_words
from scheduling.domain.program_steps import SetProgram, SetState
from scheduling.domain.program_table import ZoneName
from scheduling.domain.programs import DayPattern
from scheduling.domain.setting_words import zone_setting

ENGLISH = notice_words("en")
JULY = dt.date(2026, 7, 1)
JUNE_10 = dt.date(2026, 6, 10)
DAILY = DayPattern(weekdays=tuple(range(7)))
TUE_SAT = DayPattern(weekdays=(1, 5))
ZONES = {str(number): ZoneName(number, "Lawn") for number in range(1, 9)}


def setting(days_between=2, minutes=14.0):
    return zone_setting({
        "days_between": days_between, "weekdays": None, "waterings_per_day": 1,
        "minutes": minutes, "cycles": 1, "cycle_min": minutes, "soak_min": 0.0,
    })  # fmt: skip


OFF = setting(None, 0.0)
FRONT = ZoneStep("1 Front lawn", setting(2), setting(1))
BEDS = ZoneStep("2 Beds", setting(5, 30.0), setting(5, 30.0), is_estimated=True)
FACTS = MonthlyFacts(
    property_id="p1", place="Holm garden", first=JULY, from_date=JULY,
    told_month=dt.date(2026, 6, 1), et0_before_mm=6.0, et0_mm=7.2,
    controllers=(ControllerSteps(name="Garage", zones=(FRONT, BEDS)),),
)  # fmt: skip


def facts(*zones: ZoneStep, himself=None, **changes) -> MonthlyFacts:
    each = ControllerSteps(name="Garage", zones=zones, himself=himself)
    return replace(FACTS, controllers=(each,), **changes)


def program(name="A", pattern=TUE_SAT, starts=("04:30",), minutes=None) -> SetProgram:
    times = tuple(dt.time.fromisoformat(start) for start in starts)
    return SetProgram(name=name, pattern=pattern, starts=times, minutes=minutes or {"3": 14})


def state(*programs: SetProgram, percent=100) -> SetState:
    return SetState(programs, percent)


def fitted(now, then, *, source=Source.FOUND, since=JUNE_10, himself=None, **more):
    """A controller of fitted programs; `now` is None where nobody knows what runs."""
    known = None if now is None else KnownState(now, source, since)
    steps = FittedSteps(
        now=known, then=then, zones=ZONES, estimated=more.pop("estimated", frozenset())
    )
    return ControllerSteps(name="Garage", himself=himself, fitted=steps, **more)


def told(*controllers: ControllerSteps, system="us", **changes):
    """What a client reads of controllers."""
    return monthly_content(replace(FACTS, controllers=controllers, **changes), system, ENGLISH)


def tables(content):
    """The rows under each heading that has a table."""
    return {section.heading: section.table.rows for section in content.sections if section.table}
