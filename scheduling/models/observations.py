"""How fetching what a station observed goes; the days themselves are rows like all others."""

from __future__ import annotations

from django.db import models

from scheduling.domain.station_values import Layout
from scheduling.models.weather import WeatherStation


class ObservationStyle(models.TextChoices):
    """In which shape a source gives out days that were.

    Parallel arrays are a model's analysis: their values are marked, and stand in until the
    station's own come.
    """

    BY_STATION = Layout.BY_STATION.value, "Element lines"
    ACCESS = Layout.ACCESS.value, "Day table in tenths"
    DAILY_SUMMARIES = Layout.DAILY_SUMMARIES.value, "Day table as ordered"
    DLY = Layout.DLY.value, "Month lines"
    DAILY_ARRAYS = "daily_arrays", "Parallel arrays, one entry a day (an analysis)"


class ObservationFetch(models.Model):
    """How the last attempt to get a station's days went; what was got before stays."""

    station = models.OneToOneField(
        WeatherStation,
        on_delete=models.PROTECT,
        primary_key=True,
        related_name="observation_fetch",
    )
    tried_at = models.DateTimeField()
    succeeded_at = models.DateTimeField(null=True, blank=True)
    failures = models.PositiveIntegerField(default=0, help_text="In a row, up to now.")
    problem = models.CharField(max_length=500, blank=True)
    days_added = models.PositiveIntegerField(default=0, help_text="By the last good fetch.")
    days_corrected = models.PositiveIntegerField(
        default=0, help_text="By the last good fetch: days with a value that is another one now."
    )
    corrections = models.PositiveIntegerField(default=0, help_text="Days corrected by all fetches.")

    def __str__(self) -> str:
        return f"fetched {self.succeeded_at}" if self.succeeded_at else "never fetched"
