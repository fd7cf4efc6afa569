"""The nightly look at all zones: its runs, their slices, and what it found of each zone."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from properties.domain.ids import uuid7
from properties.models import Zone
from properties.models.checks import between, one_of
from scheduling.models.plans import WateringPlan
from scheduling.models.weather import WeatherStation


class PlanMonth(models.Model):
    """One month of a zone's newest plan as plain columns, for the nightly look."""

    zone = models.ForeignKey(Zone, on_delete=models.CASCADE, related_name="plan_months")
    plan = models.ForeignKey(WateringPlan, on_delete=models.CASCADE, related_name="+")
    station = models.ForeignKey(WeatherStation, on_delete=models.PROTECT, related_name="+")
    month = models.PositiveSmallIntegerField()
    raw_mm = models.FloatField(help_text="Readily available water.")
    need_per_et0 = models.FloatField(help_text="0 where nothing is watered this month.")
    usual_et0_mm = models.FloatField(help_text="Of a usual day of the month.")
    net_mm = models.FloatField(help_text="Of one watering day.")
    gross_mm = models.FloatField(help_text="Of one watering day.")
    minutes = models.FloatField(help_text="Of one watering.")
    days_between = models.PositiveSmallIntegerField(
        null=True, help_text="Empty where days are named, or nothing is watered."
    )
    least_days = models.PositiveSmallIntegerField()
    most_days = models.PositiveSmallIntegerField()

    class Meta:
        ordering = ["zone", "month"]
        indexes = [models.Index(fields=["station", "month", "zone"], name="plan_month_by_station")]
        constraints = [
            models.UniqueConstraint(fields=["zone", "month"], name="plan_month_once"),
            between("month", 1, 12, words="the month"),
        ]

    def __str__(self) -> str:
        return f"month {self.month} of {self.zone_id}"


class NightState(models.TextChoices):
    OPEN = "open", "Under way"
    DONE = "done", "Done"
    FAILED = "failed", "Ended with failures"


class NightRun(models.Model):
    """One night of the company: a second start of the same date does nothing.

    `number` counts the runs of the date, of which the office may have more.
    """

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    date = models.DateField(help_text="The local day that begins.")
    number = models.PositiveSmallIntegerField(default=1)
    state = models.CharField(max_length=10, choices=NightState.choices, default=NightState.OPEN)
    started_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)
    slices = models.PositiveIntegerField(default=0)

    class Meta:
        ordering = ["-date", "-number"]
        constraints = [
            one_of("state", NightState.choices),
            models.UniqueConstraint(fields=["date", "number"], name="night_run_once"),
            models.CheckConstraint(
                condition=Q(state=NightState.OPEN, ended_at__isnull=True)
                | (~Q(state=NightState.OPEN) & Q(ended_at__isnull=False)),
                name="night_ended_has_moment",
            ),
        ]

    def __str__(self) -> str:
        return f"night of {self.date}"


class NightSlice(models.Model):
    """Zones of one station, as many as one worker takes at once: from one id to another."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    run = models.ForeignKey(NightRun, on_delete=models.CASCADE, related_name="parts")
    station = models.ForeignKey(WeatherStation, on_delete=models.PROTECT, related_name="+")
    first_zone = models.UUIDField()
    last_zone = models.UUIDField()
    mark = models.CharField(
        max_length=64, blank=True, default="", db_default="", editable=False,
        help_text="Of the plans of its zones, when the run was divided.",
    )  # fmt: skip
    state = models.CharField(max_length=10, choices=NightState.choices, default=NightState.OPEN)
    zones = models.PositiveIntegerField(default=0)
    changed = models.PositiveIntegerField(default=0)
    days_usual = models.PositiveSmallIntegerField(
        default=0, help_text="Days of the weather that nobody has, for which usual ones stand in."
    )
    digest = models.CharField(max_length=64, blank=True, default="", editable=False)
    seconds = models.FloatField(default=0.0)
    problem = models.JSONField(default=dict, blank=True)

    class Meta:
        ordering = ["id"]
        constraints = [
            one_of("state", NightState.choices),
            models.UniqueConstraint(
                fields=["run", "station", "first_zone"], name="night_slice_once"
            ),
        ]

    def __str__(self) -> str:
        return f"slice of {self.run_id}"


class ZoneOutlook(models.Model):
    """What the newest night found of a zone; written only when it differs."""

    zone = models.OneToOneField(
        Zone, on_delete=models.CASCADE, primary_key=True, related_name="outlook"
    )
    days_between = models.PositiveSmallIntegerField(
        help_text="Days apart that the roots bear at the need of these days; 0: not watered."
    )
    percent = models.PositiveSmallIntegerField(help_text="Of the need of a usual day.")
    next_on = models.DateField(null=True, blank=True, help_text="When it is due next.")
    changed_on = models.DateField(help_text="The night that wrote this.")

    def __str__(self) -> str:
        return f"outlook of {self.zone_id}"
