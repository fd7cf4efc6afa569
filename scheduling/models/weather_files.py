"""Station files that were sent in: kept until a job has read them, with the report after."""

from __future__ import annotations

from typing import Final

from django.db import models

from properties.models import Row
from properties.models.checks import one_of
from scheduling.domain.station_values import Layout

LAYOUTS: Final = [(layout.value, layout.value) for layout in Layout]
UNITS: Final = [("metric", "mm and degrees C"), ("standard", "inches and degrees F")]


class WeatherFile(Row):
    """A daily station file, plain or gzip, that was sent; its parts go when it has been read."""

    name = models.CharField(max_length=200)
    layout = models.CharField(
        max_length=20, choices=[("", "as the file shows"), *LAYOUTS], blank=True
    )
    units = models.CharField(
        max_length=10, choices=[("", "as the layout says"), *UNITS], blank=True
    )
    sha256 = models.CharField(max_length=64, editable=False)
    size_bytes = models.PositiveIntegerField(editable=False)
    report = models.JSONField(null=True, blank=True, editable=False)
    read_at = models.DateTimeField(null=True, blank=True, editable=False)

    class Meta:
        ordering = ["-id"]
        constraints = [
            one_of("layout", [("", ""), *LAYOUTS]),
            one_of("units", [("", ""), *UNITS]),
            models.UniqueConstraint(
                fields=["sha256", "layout", "units"],
                name="weather_file_once",
                violation_error_message="file: this file was sent already.",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class WeatherFilePart(models.Model):
    """Some of the bytes of a file that waits: nobody ever holds a file whole."""

    file = models.ForeignKey(WeatherFile, on_delete=models.CASCADE, related_name="parts")
    number = models.PositiveIntegerField()
    content = models.BinaryField()

    class Meta:
        ordering = ["number"]
        constraints = [
            models.UniqueConstraint(fields=["file", "number"], name="weather_file_part_once"),
        ]

    def __str__(self) -> str:
        return f"part {self.number}"
