"""What districts and suppliers grant a landscape: the factors of their allowances, dated."""

from __future__ import annotations

from datetime import date
from typing import ClassVar, Final

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q

from properties.domain.errors import InvalidInputError
from properties.domain.water_budgets import BudgetSpan
from properties.domain.watering_rules_audience import PropertyClass
from properties.domain.watering_rules_entries import words_of
from properties.models.checks import between, one_of
from properties.models.rows import Row
from properties.models.watering_rules import WateringDistrict, choices_of

BUDGET_SPANS: Final = choices_of(BudgetSpan)


class WaterBudget(Row):
    """An allowance: ET0, less the counted rain, x factor x area.

    Several may bind one property: county and supplier. The stricter governs.
    """

    needs_live: ClassVar[tuple[str, ...]] = ("district",)

    district = models.ForeignKey(WateringDistrict, on_delete=models.PROTECT, related_name="budgets")
    name = models.CharField(max_length=200, help_text="How clients are told of it.")
    source = models.CharField(
        max_length=400, help_text="Whose allowance, in which paper or page, as of when."
    )
    span = models.CharField(
        max_length=20, choices=BUDGET_SPANS, default=BudgetSpan.YEAR.value,
        help_text="Of the whole year, or of the month with the greatest ET0.",
    )  # fmt: skip
    property_classes = models.JSONField(default=list, blank=True, help_text="Empty: every class.")
    factor = models.FloatField(help_text="Part of ET0 that ordinary landscape may use, such as 0.7")
    special_factor = models.FloatField(
        default=1.0, db_default=1.0, help_text="The same of special landscape: food, play, reuse."
    )
    rain_part = models.FloatField(
        default=0.0, db_default=0.0, help_text="Part of the rain that is taken off ET0, 0: none."
    )
    gallons_per_inch_ft2 = models.FloatField(
        "gallons of an inch on a square foot",
        null=True, blank=True,
        help_text="As the rule rounds it, such as 0.62; empty: exact.",
    )  # fmt: skip
    overhead_efficiency = models.FloatField(help_text="Of sprinklers, as the rule counts it.")
    drip_efficiency = models.FloatField(help_text="Of drip and bubblers, as the rule counts it.")
    first_date = models.DateField(null=True, blank=True)
    last_date = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ["district_id", "name", "first_date", "id"]
        constraints = [
            one_of("span", BUDGET_SPANS),
            between("factor", 0.01, 1.5, words="the factor"),
            between("special_factor", 0.01, 1.5, words="the factor of special landscape"),
            between("rain_part", 0, 1, words="the part of the rain"),
            between("gallons_per_inch_ft2", 0.6, 0.65, words="the gallons of an inch on a ft2"),
            between("overhead_efficiency", 0.1, 1, words="the efficiency of sprinklers"),
            between("drip_efficiency", 0.1, 1, words="the efficiency of drip"),
            models.CheckConstraint(
                condition=Q(last_date__isnull=True)
                | Q(first_date__isnull=True)
                | Q(last_date__gte=F("first_date")),
                name="water_budget_in_order",
                violation_error_message="last_date: the last day must not be before the first.",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def clean(self) -> None:
        """Refuse classes that are not known."""
        try:
            words_of(PropertyClass, self.property_classes, "property_classes")
        except InvalidInputError as error:
            message = f"{error.detail} {error.remedy}"
            raise ValidationError(
                {error.field: ValidationError(message, code=error.code)}
            ) from error

    def binds(self, property_class: str, day: date) -> bool:
        """Return whether the allowance is of properties of a class on a date."""
        has_begun = self.first_date is None or self.first_date <= day
        is_over = self.last_date is not None and self.last_date < day
        is_named = not self.property_classes or property_class in self.property_classes
        return has_begun and not is_over and is_named
