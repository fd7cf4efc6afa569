"""What a controller is set to, since when, and by whom."""

from __future__ import annotations

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

from audits.models.visits import Visit
from properties.models import Controller, Row, Zone
from properties.models.checks import between, one_of


class SettingSource(models.TextChoices):
    FOUND = "found", "Found on the controller"
    SET_BY_US = "set_by_us", "Set by us"
    TOLD_BY_CLIENT = "told_by_client", "Told by the client"


class ProgramSetting(Row):
    """The whole state of a controller at one moment; the newest one is what runs now."""

    controller = models.ForeignKey(Controller, on_delete=models.PROTECT, related_name="settings")
    visit = models.ForeignKey(
        Visit, on_delete=models.PROTECT, related_name="program_settings", null=True, blank=True
    )
    source = models.CharField(max_length=20, choices=SettingSource.choices)
    since = models.DateField(help_text="The day from which the controller runs this.")
    seasonal_percent = models.PositiveSmallIntegerField(default=100)
    clock_is_right = models.BooleanField(null=True, blank=True)
    battery_is_good = models.BooleanField(null=True, blank=True)

    class Meta:
        ordering = ["-since", "-id"]
        constraints = [
            one_of("source", SettingSource.choices),
            between("seasonal_percent", 0, 300, words="the seasonal percentage"),
        ]

    def __str__(self) -> str:
        return f"{self.get_source_display()} {self.since}"


class SettingProgram(models.Model):
    """One program: its days, by weekday or by interval, and all its start times."""

    setting = models.ForeignKey(ProgramSetting, on_delete=models.PROTECT, related_name="programs")
    name = models.CharField(max_length=20)
    weekdays = models.JSONField(default=list, help_text="0 is Monday, 6 is Sunday.")
    interval_days = models.PositiveSmallIntegerField(
        null=True, blank=True, validators=[MinValueValidator(1), MaxValueValidator(31)]
    )
    starts = models.JSONField(default=list, help_text='Such as "05:30".')

    class Meta:
        ordering = ["setting_id", "name"]
        constraints = [
            models.UniqueConstraint(fields=["setting", "name"], name="program_name_once"),
            models.CheckConstraint(
                condition=(Q(weekdays=[], interval_days__isnull=False, interval_days__gte=1))
                | (~Q(weekdays=[]) & Q(interval_days__isnull=True)),
                name="program_weekdays_or_interval",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class SettingRun(models.Model):
    """How long a program runs a zone at each start."""

    program = models.ForeignKey(SettingProgram, on_delete=models.PROTECT, related_name="runs")
    zone = models.ForeignKey(Zone, on_delete=models.PROTECT, related_name="+")
    run_min = models.PositiveSmallIntegerField()

    class Meta:
        ordering = ["program_id", "zone_id"]
        constraints = [
            models.UniqueConstraint(fields=["program", "zone"], name="program_runs_zone_once"),
            between("run_min", 1, 1440, words="the minutes of a run"),
        ]

    def __str__(self) -> str:
        return f"{self.run_min} min"
