"""What a district's rules let one zone have on each date of a running plan."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from audits.domain.treatments import WaterInRule
from properties.domain.watering_rules import DistrictRules, Purpose
from properties.domain.watering_rules_answers import AllowedDay, allowed_on
from properties.domain.watering_rules_cases import Case, holding

_HOUR_MIN = 60


@dataclass(frozen=True, kw_only=True)
class DayRules:
    """What rules let a zone have on one date [min, mm]; None caps nothing."""

    is_allowed: bool
    minutes_cap: float | None = None
    depth_cap_mm: float | None = None


def dated_rules(
    district: DistrictRules, case: Case, dates: Iterable[dt.date]
) -> dict[dt.date, DayRules]:
    """Return what the rules let a zone have on each date; a window must begin on an allowed one.

    Parameters
    ----------
    district, case : as in `allowed_on`.
    dates : local dates.
    """
    return {day: _day_rules(allowed_on(district, case, day)) for day in dates}


def relieved_days(
    district: DistrictRules, case: Case, applied_at: dt.datetime, since: dt.datetime
) -> Mapping[dt.date, DayRules]:
    """Return the dates on which a treatment may be watered in though no other water may run.

    Parameters
    ----------
    district, case : as in `allowed_on`; of the watering that the plan is for.
    applied_at : the application, with its time zone.
    since : the local moment from which is planned; an hour that is over helps nobody.
    """
    rule = water_in_rule(district, case, applied_at)
    if rule is None:
        return {}
    treated = replace(case, purpose=Purpose.TREATMENT, applied_at=applied_at)
    first = max(applied_at.astimezone(case.place.time_zone), since)
    last = (applied_at + dt.timedelta(hours=rule.within_h)).astimezone(case.place.time_zone)
    dates = [
        first.date() + dt.timedelta(days=number)
        for number in range((last.date() - first.date()).days + 1)
    ]
    answers = [allowed_on(district, treated, day) for day in dates]
    return {
        day.date: _day_rules(day)
        for day in answers
        if _has_hour_left(day, since) and not allowed_on(district, case, day.date).is_watering_day
    }


def water_in_rule(
    district: DistrictRules, case: Case, applied_at: dt.datetime
) -> WaterInRule | None:
    """Return how much the rules let be watered in on any day, and how soon; None without such.

    Where several rules hold that day, each relieves from itself alone: then all must.
    """
    day = applied_at.astimezone(case.place.time_zone).date()
    rules = holding(district, case, day)
    reliefs = [rule.treatment for rule in rules if rule.treatment is not None]
    if not reliefs:
        return None
    return WaterInRule(
        at_most_mm=min(relief.at_most_mm for relief in reliefs),
        within_h=min(relief.within_h for relief in reliefs),
        source=district.name,
    )


def _day_rules(day: AllowedDay) -> DayRules:
    return DayRules(
        is_allowed=day.is_watering_day,
        minutes_cap=day.minutes_cap,
        depth_cap_mm=day.depth_cap_mm,
    )


def _has_hour_left(day: AllowedDay, since: dt.datetime) -> bool:
    if not day.is_watering_day or day.date < since.date():
        return False
    minute = since.hour * _HOUR_MIN + since.minute if day.date == since.date() else 0
    return any(hours.end_min > minute for hours in day.hours)
