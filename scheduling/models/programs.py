"""What to set on a controller, fitted to its abilities and rules, and what replays found of it."""

from __future__ import annotations

from django.db import models

from properties.models import Controller, Property, Row
from properties.models.checks import between, one_of


class ProgramStyle(models.TextChoices):
    DAYS = "days", "Same minutes, changing days"
    PERCENT = "percent", "Same days, changing percentage"


class ControllerProgram(Row):
    """All programs of a controller for a year. A new one only when what can be set changes.

    `programs`, `unmet`, `cost` and `gap` are those of the thirstiest month; `months` has what is
    set in each. A row from before whole years has no months.
    """

    controller = models.ForeignKey(
        Controller, on_delete=models.PROTECT, related_name="fitted_programs"
    )
    number = models.PositiveIntegerField(help_text="Counts the controller's fitted sets from 1.")
    style = models.CharField(
        max_length=10, choices=ProgramStyle.choices, default=ProgramStyle.DAYS,
        db_default=ProgramStyle.DAYS.value, help_text="What changes from month to month.",
    )  # fmt: skip
    month = models.PositiveSmallIntegerField(help_text="The thirstiest of the year.")
    inputs = models.JSONField()
    programs = models.JSONField(
        blank=True, help_text="Days, starts and minutes, as a person types them in."
    )
    months = models.JSONField(
        blank=True, default=list, db_default=models.Value([], models.JSONField()),
        help_text="January first: percentage, programs, and what the zones get.",
    )  # fmt: skip
    unmet = models.JSONField(
        blank=True, help_text="What could not be granted, and what would cure it."
    )
    cost = models.FloatField(help_text="Weighted shortfall and excess [mm a week].")
    gap = models.FloatField(help_text="How far from proven best it may be [mm a week]; 0 is best.")
    settings_digest = models.CharField(max_length=64, editable=False)

    class Meta:
        ordering = ["-id"]
        indexes = [models.Index(fields=["created_at", "id"], name="fitted_by_creation")]
        constraints = [
            models.UniqueConstraint(fields=["controller", "number"], name="fitted_number_once"),
            between("month", 1, 12, words="the month"),
            one_of("style", ProgramStyle.choices),
        ]

    def __str__(self) -> str:
        return f"programs {self.number}"


class Replay(Row):
    """A question to past weather, and the answer once the job has found it."""

    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="replays")
    asked = models.JSONField(help_text="Years, and what is changed against how it is now.")
    answer = models.JSONField(null=True, blank=True)
    answered_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-id"]

    def __str__(self) -> str:
        return f"replay of {self.property_id}"
