"""Forecasts: the document as it came, its days, and how the last attempt to fetch one went."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from properties.domain.ids import uuid7
from properties.models.checks import between, one_of
from scheduling.models.weather import WeatherStation


class ForecastStyle(models.TextChoices):
    """The two public shapes of forecast JSON."""

    GRID_DURATIONS = "grid_durations", "Layers of values, each with a start and a duration"
    DAILY_ARRAYS = "daily_arrays", "Parallel arrays, one entry a day"


class ForecastDocument(models.Model):
    """What a provider answered, unchanged, so that every forecast day can be traced."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    station = models.ForeignKey(
        WeatherStation, on_delete=models.PROTECT, related_name="forecast_documents"
    )
    style = models.CharField(max_length=20, choices=ForecastStyle.choices)
    issued_at = models.DateTimeField(help_text="When the provider made it.")
    retrieved_at = models.DateTimeField()
    body = models.TextField()
    digest = models.CharField(max_length=64, help_text="SHA-256 of the body.")

    class Meta:
        ordering = ["-id"]
        constraints = [
            one_of("style", ForecastStyle.choices),
            models.UniqueConstraint(fields=["station", "digest"], name="forecast_document_once"),
        ]

    def __str__(self) -> str:
        return f"forecast of {self.issued_at:%Y-%m-%d %H:%M}"


class ForecastDay(models.Model):
    """A day to come at a station by the newest document that speaks of it."""

    station = models.ForeignKey(
        WeatherStation, on_delete=models.PROTECT, related_name="forecast_days"
    )
    document = models.ForeignKey(ForecastDocument, on_delete=models.PROTECT, related_name="days")
    date = models.DateField()
    tmin_c = models.FloatField(null=True, blank=True)
    tmax_c = models.FloatField(null=True, blank=True)
    rain_mm = models.FloatField(null=True, blank=True)
    rain_probability_percent = models.FloatField(null=True, blank=True)
    humidity_percent = models.FloatField(null=True, blank=True)
    wind_m_s = models.FloatField(null=True, blank=True)
    solar_mj_m2 = models.FloatField(null=True, blank=True)
    provider_et0_mm = models.FloatField(
        null=True, blank=True, help_text="As the provider computed it; kept apart from ours."
    )
    et0_mm = models.FloatField(null=True, blank=True, help_text="Ours, as for observed days.")

    class Meta:
        ordering = ["station_id", "date"]
        constraints = [
            models.UniqueConstraint(fields=["station", "date"], name="forecast_day_once"),
            between("tmin_c", -90, 60, words="the lowest temperature in degrees C"),
            between("tmax_c", -90, 60, words="the highest temperature in degrees C"),
            between("rain_mm", 0, 2000, words="the rain in mm"),
            between("rain_probability_percent", 0, 100, words="the chance of rain in percent"),
            between("humidity_percent", 0, 100, words="the humidity in percent"),
            between("wind_m_s", 0, 75, words="the wind in m/s"),
            between("solar_mj_m2", 0, 50, words="the solar radiation in MJ/m2"),
            between("provider_et0_mm", 0, 40, words="the provider's ET0 in mm"),
            models.CheckConstraint(
                condition=Q(tmin_c__lte=models.F("tmax_c"))
                | Q(tmin_c__isnull=True)
                | Q(tmax_c__isnull=True),
                name="forecast_day_tmin_below_tmax",
                violation_error_message="tmax_c: the highest temperature is below the lowest.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.station_id} {self.date}"


class ForecastFetch(models.Model):
    """How the last attempt to get a station's forecast went; its age is told beside its days."""

    station = models.OneToOneField(
        WeatherStation, on_delete=models.PROTECT, primary_key=True, related_name="forecast_fetch"
    )
    tried_at = models.DateTimeField()
    succeeded_at = models.DateTimeField(null=True, blank=True)
    failures = models.PositiveIntegerField(default=0, help_text="In a row, up to now.")
    problem = models.CharField(max_length=500, blank=True)

    def __str__(self) -> str:
        return f"fetched {self.succeeded_at}" if self.succeeded_at else "never fetched"
