"""Weather stations and their days: observations as they were read, and the ET0 of each day."""

from __future__ import annotations

from typing import Final

from django.db import models
from django.db.models import Q

from properties.models import MeasuredRow, Retirable
from properties.models.checks import between, one_of
from scheduling.domain.analysed_values import analysed_names
from scheduling.domain.et0_methods import Et0Method

ET0_METHODS: Final = [(method.value, method.value.replace("_", " ")) for method in Et0Method]


class WeatherStation(Retirable, MeasuredRow):
    """A place whose daily weather the company keeps."""

    code = models.CharField(max_length=11, unique=True, help_text="As in the station's files.")
    name = models.CharField(max_length=200)
    latitude = models.FloatField(help_text="WGS 84 [deg]")
    longitude = models.FloatField(help_text="WGS 84 [deg]")
    elevation_m = models.FloatField()
    anemometer_height_m = models.FloatField(
        default=10.0,
        db_default=10.0,
        help_text="Height of the wind measurement above the ground [m].",
    )

    is_coastal = models.BooleanField(
        default=False, db_default=False,
        help_text="The air comes off a large water; its sun is judged otherwise.",
    )  # fmt: skip

    class Meta:
        ordering = ["name"]
        constraints = [
            between("latitude", -90, 90, words="the latitude"),
            between("longitude", -180, 180, words="the longitude"),
            between("elevation_m", -430, 6000, words="the elevation in metres"),
            between("anemometer_height_m", 0.5, 100, words="the anemometer's height in metres"),
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
    dew_point_c = models.FloatField(null=True, blank=True)
    humidity_min_percent = models.FloatField(null=True, blank=True)
    humidity_max_percent = models.FloatField(null=True, blank=True)
    humidity_percent = models.FloatField(null=True, blank=True, help_text="Mean of the day.")
    wind_m_s = models.FloatField(
        null=True, blank=True, help_text="Mean of the day at the anemometer's height [m/s]."
    )
    solar_mj_m2 = models.FloatField(
        null=True, blank=True, help_text="Solar radiation on the ground [MJ/m2]."
    )
    et0_mm = models.FloatField(null=True, blank=True, help_text="Computed from what was observed.")
    et0_method = models.CharField(
        max_length=20, choices=[("", "none"), *ET0_METHODS], blank=True, default="", db_default=""
    )
    analysed = models.PositiveSmallIntegerField(
        default=0, db_default=0, help_text="Which values come from an analysis, a bit for each."
    )

    class Meta:
        ordering = ["-id"]
        constraints = [
            models.UniqueConstraint(fields=["station", "date"], name="weather_day_once"),
            between("tmin_c", -90, 60, words="the lowest temperature in degrees C"),
            between("tmax_c", -90, 60, words="the highest temperature in degrees C"),
            between("rain_mm", 0, 2000, words="the rain in mm"),
            between("dew_point_c", -90, 60, words="the dew point in degrees C"),
            between("humidity_min_percent", 0, 100, words="the lowest humidity in percent"),
            between("humidity_max_percent", 0, 100, words="the highest humidity in percent"),
            between("humidity_percent", 0, 100, words="the mean humidity in percent"),
            between("wind_m_s", 0, 75, words="the mean wind in m/s"),
            between("solar_mj_m2", 0, 50, words="the solar radiation in MJ/m2"),
            one_of("et0_method", [("", "none"), *ET0_METHODS]),
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

    def analysed_names(self) -> tuple[str, ...]:
        """Return which values a model's analysis stands in for, until the station's own come."""
        return analysed_names(self.analysed)


class StationCalibration(models.Model):
    """How a station's temperature-only ET0 is brought to its Penman-Monteith one, and how well.

    Calibrated ET0 = `offset_mm` + `slope` x Hargreaves ET0, fitted where the station has both.
    """

    station = models.OneToOneField(
        WeatherStation, on_delete=models.PROTECT, primary_key=True, related_name="calibration"
    )
    slope = models.FloatField()
    offset_mm = models.FloatField()
    days = models.PositiveIntegerField(help_text="Days with both that it was fitted on.")
    first_date = models.DateField()
    last_date = models.DateField()
    months = models.JSONField(
        default=list,
        db_default=models.Value([], models.JSONField()),
        blank=True,
        help_text="Calendar months of those days, 1 to 12: in others it is a guess.",
    )
    bias_before_mm = models.FloatField(help_text="Mean of Hargreaves less Penman-Monteith.")
    rmse_before_mm = models.FloatField()
    rmse_after_mm = models.FloatField(help_text="On days that the fit did not see.")
    computed_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"ET0 = {self.offset_mm:.2f} + {self.slope:.2f} x Hargreaves"
