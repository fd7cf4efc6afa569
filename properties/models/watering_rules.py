"""Local watering rules: districts, their drought stages, and the dated rules of both."""

from __future__ import annotations

import dataclasses
from datetime import date
from enum import StrEnum
from typing import Any, ClassVar, Final

from django.core.exceptions import ValidationError
from django.core.validators import URLValidator
from django.db import models
from django.db.models import F, Q

from properties.domain.errors import InvalidInputError
from properties.domain.watering_rules import TestRuns
from properties.domain.watering_rules import WateringRule as Rule
from properties.domain.watering_rules_audience import Addresses, PropertyClass
from properties.domain.watering_rules_entries import RuleEntry, rule_of
from properties.domain.watering_rules_periods import Clock
from properties.models.checks import between, one_of
from properties.models.rows import MeasuredRow, Row

HOURS_HELP: Final = 'Such as ["00:00-10:00", "19:00-24:00"]; 19:00-05:00 runs on into the next day.'
_OF_A_ROW: Final = ("key", "stage")


def choices_of(words: type[StrEnum]) -> list[tuple[str, str]]:
    """Return the choices of a set of domain words, with a readable label each."""
    return [(word.value, word.value.replace("_", " ").capitalize()) for word in words]


PROPERTY_CLASSES: Final = choices_of(PropertyClass)
ADDRESSES: Final = choices_of(Addresses)
CLOCKS: Final = choices_of(Clock)
TEST_RUNS: Final = choices_of(TestRuns)


def _in_order(name: str) -> models.CheckConstraint:
    return models.CheckConstraint(
        condition=Q(last_date__isnull=True)
        | Q(first_date__isnull=True)
        | Q(last_date__gte=F("first_date")),
        name=name,
        violation_error_message="last_date: the last day must not be before the first.",
    )


class WateringDistrict(Row):
    """Whoever makes the watering rules of a place, and where they are written."""

    retires_by: ClassVar[str] = "is_retired"

    name = models.CharField(max_length=200)
    source = models.CharField(
        max_length=400, help_text="Whose rules, in which paper or page, as of when."
    )
    source_address = models.CharField(
        max_length=500, blank=True, validators=[URLValidator(["https", "http"])],
        help_text="Where to read them.",
    )  # fmt: skip
    is_retired = models.BooleanField(
        default=False, db_default=False, help_text="No property is put in it any more."
    )

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(
                fields=["name"],
                name="watering_district_name_once",
                violation_error_message="name: a district of that name is there already.",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class DroughtStage(Row):
    """A stage of drought that a district may declare, with rules of its own."""

    retires_by: ClassVar[str] = "is_retired"
    needs_live: ClassVar[tuple[str, ...]] = ("district",)

    district = models.ForeignKey(WateringDistrict, on_delete=models.PROTECT, related_name="stages")
    name = models.CharField(max_length=100)
    replaces_usual = models.BooleanField(
        default=False,
        db_default=False,
        help_text="Its rules stand instead of the usual ones; else both hold together.",
    )
    is_retired = models.BooleanField(
        default=False, db_default=False, help_text="It is not switched on any more."
    )

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(
                fields=["district", "name"],
                name="drought_stage_name_once",
                violation_error_message="name: this district has a stage of that name.",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class StagePeriod(Row):
    """From when to when a stage is on. One that was called off before it began is void."""

    stage = models.ForeignKey(DroughtStage, on_delete=models.PROTECT, related_name="periods")
    first_date = models.DateField()
    last_date = models.DateField(null=True, blank=True, help_text="Empty: until it is ended.")
    is_void = models.BooleanField(default=False, db_default=False)

    class Meta:
        ordering = ["first_date"]
        constraints = [_in_order("stage_period_in_order")]

    def __str__(self) -> str:
        return f"{self.first_date} to {self.last_date or 'on'}"

    def covers(self, day: date) -> bool:
        """Return whether the stage is on at a date."""
        is_over = self.last_date is not None and self.last_date < day
        return self.first_date <= day and not is_over and not self.is_void


class WateringRule(MeasuredRow):
    """A dated rule: for whom, when, and how much. What is empty limits nothing."""

    needs_live: ClassVar[tuple[str, ...]] = ("district",)

    district = models.ForeignKey(WateringDistrict, on_delete=models.PROTECT, related_name="rules")
    stage = models.ForeignKey(
        DroughtStage, on_delete=models.PROTECT, related_name="rules", null=True, blank=True,
        help_text="Empty: a usual rule, which holds without drought.",
    )  # fmt: skip
    name = models.CharField(max_length=200, help_text="How clients are told of it.")
    first_date = models.DateField(null=True, blank=True)
    last_date = models.DateField(null=True, blank=True)
    clock = models.CharField(
        max_length=20, choices=CLOCKS, default=Clock.ALL_YEAR.value,
        help_text="Under daylight saving or standard time, by the time zone of the place.",
    )  # fmt: skip
    from_day = models.CharField(
        max_length=5, blank=True, help_text="Month and day, each year: 05-01."
    )
    until_day = models.CharField(max_length=5, blank=True)
    addresses = models.CharField(
        max_length=20, choices=ADDRESSES, default=Addresses.EVERYBODY.value
    )
    last_digits = models.CharField(
        max_length=30, blank=True, help_text='Beside the choice "digits": such as 0-3.'
    )
    takes_no_number = models.BooleanField(
        default=False, help_text="Also for addresses that have no number."
    )
    property_classes = models.JSONField(default=list, blank=True, help_text="Empty: every class.")
    only_methods = models.JSONField(default=list, blank=True, help_text="Empty: every method.")
    exempt_methods = models.JSONField(
        default=list, blank=True, help_text='Such as ["drip", "micro_spray", "hand"].'
    )
    only_waters = models.JSONField(default=list, blank=True, help_text="Empty: every water.")
    exempt_waters = models.JSONField(default=list, blank=True, help_text='Such as ["reclaimed"].')
    weekdays = models.JSONField(
        null=True, blank=True, help_text="From Monday = 0 to Sunday = 6; empty: every day."
    )
    hours = models.JSONField(null=True, blank=True, help_text=HOURS_HELP)
    closed_hours = models.JSONField(
        null=True, blank=True, help_text='None in these hours, such as ["10:00-16:00"].'
    )
    is_ban = models.BooleanField(default=False, help_text="No watering at all.")
    minutes_cap = models.FloatField(
        null=True, blank=True, help_text="Most minutes of a zone on a day."
    )
    depth_cap_mm = models.FloatField(null=True, blank=True, help_text="Most of a zone on a day.")
    planting_any_days = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="So long new plants may be watered on any day."
    )
    planting_alternate_days = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="So long after that, every other day."
    )
    planting_frees_hours = models.BooleanField(
        default=False, help_text="New plants may be watered at any hour."
    )
    treatment_depth_mm = models.FloatField(
        null=True, blank=True, help_text="So much may be watered in, on any day."
    )
    treatment_within_h = models.FloatField(
        null=True, blank=True, help_text="So many hours after the treatment."
    )
    test_runs = models.CharField(max_length=20, choices=TEST_RUNS, default=TestRuns.EXEMPTION.value)
    test_run_cap_min = models.FloatField(
        null=True, blank=True, help_text="Most minutes of a free test run of a zone."
    )

    class Meta:
        ordering = ["district_id", "id"]
        constraints = [
            one_of("addresses", ADDRESSES),
            one_of("clock", CLOCKS),
            one_of("test_runs", TEST_RUNS),
            between("minutes_cap", 0.1, 1440, words="the minutes of a zone on a day"),
            between("depth_cap_mm", 0.1, 200, words="the depth of a zone on a day in mm"),
            between("planting_any_days", 0, 730, words="the days of new plants"),
            between("planting_alternate_days", 0, 730, words="the days of new plants"),
            between("treatment_depth_mm", 0.1, 200, words="the depth to water in, in mm"),
            between("treatment_within_h", 0.1, 168, words="the hours to water in"),
            between("test_run_cap_min", 0.1, 1440, words="the minutes of a test run"),
            _in_order("watering_rule_in_order"),
        ]

    def __str__(self) -> str:
        return self.name

    def clean(self) -> None:
        """Refuse what no rule can be, at the field at fault."""
        if self.stage_id and self.stage and self.stage.district_id != self.district_id:
            raise ValidationError({"stage": "Choose a stage of the rule's own district."})
        try:
            self.as_rule()
        except InvalidInputError as error:
            message = f"{error.detail} {error.remedy}"
            raise ValidationError(
                {error.field: ValidationError(message, code=error.code)}
            ) from error

    def as_rule(self) -> Rule:
        """Return what the row says, to compute with."""
        names = [each.name for each in dataclasses.fields(RuleEntry) if each.name not in _OF_A_ROW]
        values: dict[str, Any] = {name: getattr(self, name) for name in names}
        stage = str(self.stage_id) if self.stage_id else ""
        return rule_of(RuleEntry(key=str(self.pk), stage=stage, **values))
