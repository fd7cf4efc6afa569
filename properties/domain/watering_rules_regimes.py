"""The rules of a date put together for a client: who he is to them, and what they relieve."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from functools import reduce
from typing import Final

from properties.domain.watering_rules import (
    EVERY_DAY,
    DistrictRules,
    Purpose,
    StagePeriod,
    TestRuns,
    WateringRule,
)
from properties.domain.watering_rules_audience import EVEN_DIGITS, ODD_DIGITS, Place
from properties.domain.watering_rules_cases import Case, least
from properties.domain.watering_rules_hours import DAY_MIN, WHOLE_DAY, HourRange, Ranges, common
from properties.domain.watering_rules_words import Regime, day_text, minutes_text

_TWO_DAYS: Final[Ranges] = (HourRange(0, 2 * DAY_MIN),)


def regime_of(rules: tuple[WateringRule, ...], case: Case, day: date) -> Regime:
    """Return what the rules that hold on a date have in common, apart from their reliefs."""
    weekdays = reduce(frozenset.intersection, (rule.weekdays for rule in rules), EVERY_DAY)
    return Regime(
        whom=_whom(rules, case.place),
        weekdays=weekdays,
        hours=_hours(rules),
        is_ban=any(rule.is_ban for rule in rules),
        minutes_cap=reduce(least, (rule.minutes_cap for rule in rules), None),
        depth_cap_mm=reduce(least, (rule.depth_cap_mm for rule in rules), None),
        reliefs=tuple(dict.fromkeys(_reliefs(rules, case, day))),
    )


def stage_remark(district: DistrictRules, period: StagePeriod) -> str:
    """Return a remark on a drought stage that is on: whose, since when, and what becomes of it."""
    until = f" until {day_text(period.last_date)}" if period.last_date else ", until it is ended"
    holds = "instead of the usual ones" if period.replaces_usual else "beside the usual ones"
    return (
        f"{district.name} has {period.name or 'a drought stage'} on from "
        f"{day_text(period.first_date)}{until}: its rules hold {holds}."
    )


def unnumbered_remark(district: DistrictRules, case: Case, day: date) -> str:
    """Return a remark where rules go by house number and none of them names this address."""
    by_number = [
        rule
        for rule in district.in_force(day)
        if rule.audience.names_numbers()
        and rule.period.holds_on(day, case.place.time_zone)
        and rule.audience.has_apart_from_number(case.place, case.use)
    ]
    if not by_number or any(rule.audience.has_number(case.place) for rule in by_number):
        return ""
    number = case.place.house_number
    whom = "an address without a number" if number is None else f"a number such as {number}"
    return f"{district.name} goes by house number and names no days for {whom}: ask there."


def _whom(rules: tuple[WateringRule, ...], place: Place) -> str:
    named = [rule.audience.last_digits for rule in rules if rule.audience.names_numbers()]
    if named:
        return _number_text(place.house_number, named[0])
    if any(rule.audience.classes for rule in rules):
        return f"Your property counts as {place.property_class.replace('_', ' ')}"
    return ""


def _number_text(number: int | None, digits: frozenset[int]) -> str:
    if number is None:
        return "Your address has no house number"
    if digits == ODD_DIGITS:
        return "Your house number is odd"
    if digits == EVEN_DIGITS:
        return "Your house number is even"
    return f"Your house number ends in {number % 10}"


def _hours(rules: tuple[WateringRule, ...]) -> Ranges:
    if not rules:
        return WHOLE_DAY
    shared = reduce(common, (rule.hours for rule in rules), _TWO_DAYS)
    return tuple(each for each in shared if each.start_min < DAY_MIN)


def _reliefs(rules: tuple[WateringRule, ...], case: Case, day: date) -> Iterator[str]:
    for rule in rules:
        yield from _planting_text(rule, case, day)
        if case.purpose is Purpose.TEST_RUN:
            yield _TEST_RUNS[rule.test_runs] + _test_cap(rule)
        if case.purpose is Purpose.TREATMENT and rule.treatment is not None:
            yield (
                "A treatment may be watered in on any day within "
                f"{minutes_text(rule.treatment.within_h * 60)} of its application."
            )


def _planting_text(rule: WateringRule, case: Case, day: date) -> Iterator[str]:
    planted, relief = case.use.planting_date, rule.planting
    if planted is None or relief is None or day < planted:
        return
    last_any = planted + timedelta(days=relief.any_days - 1)
    last = planted + timedelta(days=relief.any_days + relief.alternate_days - 1)
    hours = ", at any hour" if relief.frees_hours else ""
    if day <= last_any:
        yield f"New plants may be watered on any day until {day_text(last_any)}{hours}."
    elif day <= last:
        yield f"New plants may be watered every other day until {day_text(last)}{hours}."


def _test_cap(rule: WateringRule) -> str:
    if rule.test_runs is not TestRuns.FREE or rule.test_run_cap_min is None:
        return "."
    return f", at most {minutes_text(rule.test_run_cap_min)} a zone."


_TEST_RUNS: Final = {
    TestRuns.FREE: "A technician may test the zone on any day and at any hour",
    TestRuns.ON_ALLOWED_DAYS: "A technician may test the zone on its days and hours alone",
    TestRuns.EXEMPTION: "A test outside of these days and hours needs an exemption",
}
