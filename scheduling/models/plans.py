"""Watering plans: dated revisions, each with the inputs that made it."""

from __future__ import annotations

from django.db import models

from audits.models import CatchTest
from properties.models import Row, Zone
from scheduling.models.weather import WeatherStation


class WateringPlan(Row):
    """Twelve months of one zone. A new one is stored only when what can be set changes."""

    zone = models.ForeignKey(Zone, on_delete=models.PROTECT, related_name="watering_plans")
    number = models.PositiveIntegerField(help_text="Counts the zone's plans from 1.")
    station = models.ForeignKey(WeatherStation, on_delete=models.PROTECT, related_name="+")
    test = models.ForeignKey(
        CatchTest, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    is_estimated = models.BooleanField(help_text="The rate comes from the heads, not from a test.")
    inputs = models.JSONField()
    months = models.JSONField()
    settings_digest = models.CharField(max_length=64, editable=False)

    class Meta:
        ordering = ["-id"]
        indexes = [models.Index(fields=["created_at", "id"], name="plan_by_creation")]
        constraints = [
            models.UniqueConstraint(fields=["zone", "number"], name="plan_number_once"),
            models.CheckConstraint(
                condition=models.Q(is_estimated=True, test__isnull=True)
                | models.Q(is_estimated=False, test__isnull=False),
                name="plan_estimated_or_tested",
            ),
        ]

    def __str__(self) -> str:
        return f"plan {self.number} of {self.zone_id}"
