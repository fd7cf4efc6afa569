"""Properties and the controllers on their walls."""

from __future__ import annotations

import re
from typing import ClassVar

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Q

from properties.domain.watering_rules_audience import (
    NO_NUMBER_MARK,
    PropertyClass,
    house_number_at,
)
from properties.models.checks import between, one_of, reference_once
from properties.models.company import check_time_zone
from properties.models.customers import Customer
from properties.models.rows import MeasuredRow, Retirable, Row
from properties.models.watering_rules import PROPERTY_CLASSES, WateringDistrict


def check_house_number(text: str) -> None:
    """Refuse what is neither a number nor the dash of an address without one."""
    if not re.fullmatch(rf"\d{{1,6}}|{NO_NUMBER_MARK}", text, re.ASCII):
        raise ValidationError(
            f"'{text}' is no house number. Give its digits, a dash where the address has none, or "
            "leave it empty to read it from the street.",
            code="house-number",
        )


class WaterSource(models.TextChoices):
    MAINS = "mains", "Mains"
    RECLAIMED = "reclaimed", "Reclaimed"
    WELL = "well", "Well"


class Property(Retirable, MeasuredRow):
    """A client's place: where it is, what water it has, and how to get in."""

    unlogged: ClassVar[frozenset[str]] = frozenset(
        {
            "name", "street", "house_number", "postal_code", "access_notes", "animals", "latitude",
            "longitude",
        }
    )  # fmt: skip
    needs_live: ClassVar[tuple[str, ...]] = ("customer",)

    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="properties")
    name = models.CharField(max_length=200)
    street = models.CharField(max_length=200)
    city = models.CharField(max_length=100)
    region = models.CharField(max_length=100, blank=True)
    postal_code = models.CharField(max_length=20, blank=True)
    latitude = models.FloatField(null=True, blank=True, help_text="WGS 84 [deg]")
    longitude = models.FloatField(null=True, blank=True, help_text="WGS 84 [deg]")
    elevation_m = models.FloatField(null=True, blank=True)
    time_zone = models.CharField(max_length=64, validators=[check_time_zone])
    water_source = models.CharField(
        max_length=20, choices=WaterSource.choices, default=WaterSource.MAINS
    )
    static_pressure_kpa = models.FloatField(null=True, blank=True)
    available_flow_l_min = models.FloatField(null=True, blank=True)
    meter_error_percent = models.FloatField(
        null=True, blank=True, help_text="Of the water meter, either way; empty: as is usual."
    )
    water_price_per_m3 = models.DecimalField(
        max_digits=8,
        decimal_places=4,
        null=True,
        blank=True,
        help_text="In the company's currency.",
    )
    access_notes = models.TextField(blank=True, max_length=2000)
    animals = models.CharField(max_length=200, blank=True)
    somebody_must_be_home = models.BooleanField(default=False)
    may_change_program = models.BooleanField(
        default=False, help_text="The client lets us set the controller."
    )
    watering_district = models.ForeignKey(
        WateringDistrict, on_delete=models.PROTECT, related_name="properties", null=True, blank=True
    )
    property_class = models.CharField(
        max_length=20,
        choices=PROPERTY_CLASSES,
        default=PropertyClass.RESIDENTIAL.value,
        db_default=PropertyClass.RESIDENTIAL.value,
        help_text="As watering rules tell properties apart.",
    )
    house_number = models.CharField(
        max_length=6, blank=True, default="", db_default="", validators=[check_house_number],
        help_text="Empty: as the street begins. A dash: the address has none.",
    )  # fmt: skip

    backflow_tested_on = models.DateField(
        null=True, blank=True,
        help_text="When the backflow assembly was last tested; empty: not known, or none there.",
    )  # fmt: skip
    reference = models.CharField(
        max_length=60, blank=True, default="", db_default="", help_text="Its number in your books."
    )

    class Meta:
        verbose_name_plural = "properties"
        ordering = ["name"]
        indexes = [
            models.Index(fields=["name", "id"], name="property_by_name"),
            models.Index(fields=["latitude", "longitude"], name="property_by_position"),
        ]
        constraints = [
            one_of("water_source", WaterSource.choices),
            one_of("property_class", PROPERTY_CLASSES),
            between("latitude", -90, 90, words="the latitude"),
            between("longitude", -180, 180, words="the longitude"),
            between("elevation_m", -430, 6000, words="the elevation in metres"),
            between("static_pressure_kpa", 0, 2500, words="the static pressure in kPa"),
            between("available_flow_l_min", 0, 20_000, words="the available flow in L/min"),
            between("meter_error_percent", 0, 50, words="the error of the meter in percent"),
            between("water_price_per_m3", 0, 1000, words="the price of a cubic metre"),
            models.CheckConstraint(
                condition=Q(latitude__isnull=True, longitude__isnull=True)
                | Q(latitude__isnull=False, longitude__isnull=False),
                name="property_position_whole",
                violation_error_message="latitude: give both latitude and longitude, or neither.",
            ),
            reference_once("property"),
        ]

    def __str__(self) -> str:
        return self.name

    def clean(self) -> None:
        """Refuse a district that is kept only for what was."""
        if self.watering_district is not None and self.watering_district.is_retired:
            message = "This district is retired. Choose another one, or none."
            raise ValidationError(
                {"watering_district": ValidationError(message, code="district-retired")}
            )

    def address_lines(self) -> tuple[str, ...]:
        town = " ".join(part for part in (self.city, self.region, self.postal_code) if part)
        return (self.street, town)

    def number(self) -> int | None:
        """Return the house number by which rules go, or None where the address has none."""
        return house_number_at(self.house_number, self.street)


class RainSensor(models.TextChoices):
    NONE = "none", "None"
    WORKING = "working", "Working"
    BROKEN = "broken", "Broken"
    UNKNOWN = "unknown", "Not looked at"


class Controller(Retirable, Row):
    """A controller and what it is able to do."""

    unlogged: ClassVar[frozenset[str]] = frozenset({"where"})

    needs_live: ClassVar[tuple[str, ...]] = ("property",)

    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="controllers")
    name = models.CharField(max_length=100)
    where = models.CharField(max_length=200, blank=True, help_text="Where it hangs.")
    program_count = models.PositiveSmallIntegerField(default=3)
    starts_per_program = models.PositiveSmallIntegerField(default=4)
    minute_step = models.PositiveSmallIntegerField(default=1)
    longest_run_min = models.PositiveSmallIntegerField(default=240)
    can_weekdays = models.BooleanField(
        default=True, db_default=True, help_text="It can be set to days of the week."
    )
    interval_days = models.PositiveSmallIntegerField(
        default=31, db_default=31,
        help_text='The longest "every so many days" that it can be set to; 0 where it cannot.',
    )  # fmt: skip
    can_odd_even = models.BooleanField(
        default=False, db_default=False, help_text="It can be set to odd or to even dates."
    )
    most_percent = models.PositiveSmallIntegerField(
        default=100, db_default=100,
        help_text="The highest seasonal percentage that it can be set to.",
    )  # fmt: skip
    percent_step = models.PositiveSmallIntegerField(
        default=10, db_default=10, help_text="In steps of so many percent."
    )
    rain_sensor = models.CharField(
        max_length=20, choices=RainSensor.choices, default=RainSensor.UNKNOWN
    )
    reference = models.CharField(
        max_length=60, blank=True, default="", db_default="", help_text="Its number in your books."
    )

    class Meta:
        ordering = ["name"]
        constraints = [
            one_of("rain_sensor", RainSensor.choices),
            between("program_count", 1, 12, words="the number of programs"),
            between("starts_per_program", 1, 24, words="the starts per program"),
            between("minute_step", 1, 30, words="the minute step"),
            between("longest_run_min", 1, 1440, words="the longest run in minutes"),
            between("interval_days", 0, 31, words="the longest interval in days"),
            between("most_percent", 100, 300, words="the highest seasonal percentage"),
            between("percent_step", 1, 100, words="the step of the seasonal percentage"),
            models.CheckConstraint(
                condition=Q(can_weekdays=True) | Q(interval_days__gt=0) | Q(can_odd_even=True),
                name="controller_runs_on_some_day",
                violation_error_message=(
                    "can_weekdays: a controller can be set to weekdays, intervals, or odd and even"
                    " dates."
                ),
            ),
            models.UniqueConstraint(
                fields=["property", "name"],
                name="controller_name_once",
                violation_error_message="name: this property has a controller of that name.",
            ),
            reference_once("controller"),
        ]

    def __str__(self) -> str:
        return self.name
