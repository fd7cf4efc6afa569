"""Weather stations and their days: observations as they were read, and the ET0 of each day."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from properties.models import MeasuredRow
from properties.models.checks import between


class WeatherStation(MeasuredRow):
    """A place whose daily weather the company keeps."""

    code = models.CharField(max_length=11, unique=True, help_text="As in the station's files.")
    name = models.CharField(max_length=200)
    latitude = models.FloatField(help_text="WGS 84 [deg]")
    longitude = models.FloatField(help_text="WGS 84 [deg]")
    elevation_m = models.FloatField()

    class Meta:
        ordering = ["name"]
        constraints = [
            between("latitude", -90, 90, words="the latitude"),
            between("longitude", -180, 180, words="the longitude"),
            between("elevation_m", -430, 6000, words="the elevation in metres"),
        ]

    def __str__(self) -> str:
        return f"{self.name} ({self.code})"


class WeatherDay(models.Model):
    """What a station observed on a day; an absent value was not observed or not to be trusted."""

    station = models.ForeignKey(WeatherStation, on_delete=models.PROTECT, related_name="days")
    date = models.DateField()
    tmin_c = models.FloatField(null=True, blank=True)
    tmax_c = models.FloatField(null=True, blank=True)
    rain_mm = models.FloatField(null=True, blank=True)
    et0_mm = models.FloatField(null=True, blank=True, help_text="Computed from the temperatures.")

    class Meta:
        ordering = ["-id"]
        constraints = [
            models.UniqueConstraint(fields=["station", "date"], name="weather_day_once"),
            between("tmin_c", -90, 60, words="the lowest temperature in degrees C"),
            between("tmax_c", -90, 60, words="the highest temperature in degrees C"),
            between("rain_mm", 0, 2000, words="the rain in mm"),
            models.CheckConstraint(
                condition=Q(tmin_c__lte=models.F("tmax_c"))
                | Q(tmin_c__isnull=True)
                | Q(tmax_c__isnull=True),
                name="weather_day_tmin_below_tmax",
                violation_error_message="tmax_c: the highest temperature is below the lowest.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.station_id} {self.date}"
