"""What to set on a controller, fitted to its abilities and rules, and what replays found of it."""

from __future__ import annotations

from django.db import models

from properties.models import Controller, Property, Row
from properties.models.checks import between


class ControllerProgram(Row):
    """All programs of a controller for one month. A new one only when what can be set changes."""

    controller = models.ForeignKey(
        Controller, on_delete=models.PROTECT, related_name="fitted_programs"
    )
    number = models.PositiveIntegerField(help_text="Counts the controller's fitted sets from 1.")
    month = models.PositiveSmallIntegerField()
    inputs = models.JSONField()
    programs = models.JSONField(
        blank=True, help_text="Days, starts and minutes, as a person types them in."
    )
    unmet = models.JSONField(
        blank=True, help_text="What could not be granted, and what would cure it."
    )
    cost = models.FloatField(help_text="Weighted shortfall and excess [mm a week].")
    gap = models.FloatField(help_text="How far from proven best it may be [mm a week]; 0 is best.")
    settings_digest = models.CharField(max_length=64, editable=False)

    class Meta:
        ordering = ["-id"]
        constraints = [
            models.UniqueConstraint(fields=["controller", "number"], name="fitted_number_once"),
            between("month", 1, 12, words="the month"),
        ]

    def __str__(self) -> str:
        return f"programs {self.number} of {self.controller_id}"


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
