"""Reading a rule as it was entered: lists and words become what the rules compute with."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import TypeVar

from properties.domain.errors import InvalidInputError
from properties.domain.watering_rules import (
    EVERY_DAY,
    PlantingRelief,
    TestRuns,
    TreatmentRelief,
    WateringRule,
)
from properties.domain.watering_rules_audience import (
    Addresses,
    Audience,
    Method,
    PropertyClass,
    WaterKind,
    digits_of,
)
from properties.domain.watering_rules_hours import WHOLE_DAY, Ranges, hours_of, without
from properties.domain.watering_rules_periods import Clock, Period

AnyWord = TypeVar("AnyWord", bound=StrEnum)


@dataclass(frozen=True, kw_only=True)
class RuleEntry:
    """A rule in the words of a form; what is None or empty limits nothing."""

    name: str
    key: str = ""
    stage: str = ""
    first_date: date | None = None
    last_date: date | None = None
    clock: str = Clock.ALL_YEAR
    from_day: str = ""
    until_day: str = ""
    addresses: str = Addresses.EVERYBODY
    last_digits: str = ""
    takes_no_number: bool = False
    property_classes: object = ()
    only_methods: object = ()
    exempt_methods: object = ()
    only_waters: object = ()
    exempt_waters: object = ()
    weekdays: object = None
    hours: object = None
    closed_hours: object = None
    is_ban: bool = False
    minutes_cap: float | None = None
    depth_cap_mm: float | None = None
    planting_any_days: int | None = None
    planting_alternate_days: int | None = None
    planting_frees_hours: bool = False
    treatment_depth_mm: float | None = None
    treatment_within_h: float | None = None
    test_runs: str = TestRuns.EXEMPTION
    test_run_cap_min: float | None = None


def rule_of(entry: RuleEntry) -> WateringRule:
    """Return the rule that was entered.

    Raises
    ------
    InvalidInputError
        Naming the field, for what is no word, day or hour, and for what contradicts itself.
    """
    return WateringRule(
        name=entry.name,
        key=entry.key,
        stage=entry.stage,
        audience=_audience(entry),
        period=_period(entry),
        weekdays=EVERY_DAY if entry.weekdays is None else weekdays_of(entry.weekdays),
        hours=_hours(entry),
        is_ban=entry.is_ban,
        minutes_cap=entry.minutes_cap,
        depth_cap_mm=entry.depth_cap_mm,
        planting=_planting(entry),
        treatment=_treatment(entry),
        test_runs=_test_runs(entry),
        test_run_cap_min=entry.test_run_cap_min,
    )


def weekdays_of(value: object) -> frozenset[int]:
    """Return the weekdays of a list of numbers, Monday = 0 to Sunday = 6."""
    days = value if isinstance(value, list | tuple) else [value]
    wrong = [day for day in days if type(day) is not int]
    if wrong:
        raise InvalidInputError(
            f"'{wrong[0]}' is no weekday.",
            field="weekdays", code="bad-days",
            remedy="Give a list of numbers from Monday = 0 to Sunday = 6.",
        )  # fmt: skip
    return frozenset(days)


def word_of(words: type[AnyWord], value: object, field: str) -> AnyWord:
    """Return the word of a set, or refuse with all of them named."""
    try:
        return words(str(value))
    except ValueError as error:
        raise InvalidInputError(
            f"'{value}' is not known here.",
            field=field, code="unknown-word", remedy=f"Use one of: {', '.join(words)}.",
        ) from error  # fmt: skip


def words_of(words: type[AnyWord], value: object, field: str) -> frozenset[AnyWord]:
    """Return the words of a list; a list that is empty or absent names none."""
    listed = value if isinstance(value, list | tuple) else [value]
    return frozenset(word_of(words, word, field) for word in listed)


def _audience(entry: RuleEntry) -> Audience:
    addresses = word_of(Addresses, entry.addresses, "addresses")
    is_for_no_number = addresses in (Addresses.EVERYBODY, Addresses.NO_NUMBER)
    return Audience(
        last_digits=digits_of(addresses, entry.last_digits),
        takes_no_number=entry.takes_no_number or is_for_no_number,
        classes=words_of(PropertyClass, entry.property_classes, "property_classes"),
        only_methods=words_of(Method, entry.only_methods, "only_methods"),
        exempt_methods=words_of(Method, entry.exempt_methods, "exempt_methods"),
        only_waters=words_of(WaterKind, entry.only_waters, "only_waters"),
        exempt_waters=words_of(WaterKind, entry.exempt_waters, "exempt_waters"),
    )


def _period(entry: RuleEntry) -> Period:
    return Period(
        first_date=entry.first_date,
        last_date=entry.last_date,
        clock=word_of(Clock, entry.clock, "clock"),
        from_day=entry.from_day,
        until_day=entry.until_day,
    )


def _hours(entry: RuleEntry) -> Ranges:
    hours = WHOLE_DAY if entry.hours is None else hours_of(entry.hours, field="hours")
    if entry.closed_hours is None:
        return hours
    left = without(hours, hours_of(entry.closed_hours, field="closed_hours"))
    if not left:
        raise InvalidInputError(
            "The closed hours leave no hour in which to water.",
            field="closed_hours", code="no-hour",
            remedy="Close fewer hours, or say that the rule is a ban.",
        )  # fmt: skip
    return left


def _planting(entry: RuleEntry) -> PlantingRelief | None:
    if entry.planting_any_days is not None:
        return PlantingRelief(
            entry.planting_any_days,
            entry.planting_alternate_days or 0,
            entry.planting_frees_hours,
        )
    if entry.planting_alternate_days is not None or entry.planting_frees_hours:
        raise InvalidInputError(
            "What new plants are freed from has no days.",
            field="planting_any_days", code="half-a-relief",
            remedy="Say for how many days new plants may be watered on any day; 0 is allowed.",
        )  # fmt: skip
    return None


def _treatment(entry: RuleEntry) -> TreatmentRelief | None:
    depth_mm, within_h = entry.treatment_depth_mm, entry.treatment_within_h
    if depth_mm is None and within_h is None:
        return None
    if depth_mm is None or within_h is None:
        raise InvalidInputError(
            "Watering in has a most and a time.",
            field="treatment_depth_mm" if depth_mm is None else "treatment_within_h",
            code="half-a-relief", remedy="Give both, or neither.",
        )  # fmt: skip
    return TreatmentRelief(depth_mm, within_h)


def _test_runs(entry: RuleEntry) -> TestRuns:
    policy = word_of(TestRuns, entry.test_runs, "test_runs")
    if entry.test_run_cap_min is not None and policy is not TestRuns.FREE:
        raise InvalidInputError(
            "Only free test runs have a length of their own.",
            field="test_run_cap_min", code="half-a-relief",
            remedy="Leave it empty, or let technicians test freely.",
        )  # fmt: skip
    return policy
