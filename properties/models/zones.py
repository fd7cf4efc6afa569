"""Zones: what one valve waters."""

from __future__ import annotations

import re
from datetime import date
from typing import ClassVar, Final

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Q

from properties.domain.site import Exposure, HeadKind, PlantType, SoilTexture, WaterUse
from properties.models.checks import between, one_of, reference_once
from properties.models.places import Controller, Property
from properties.models.rows import MeasuredRow


def choices_of(
    words: type[HeadKind | PlantType | SoilTexture | Exposure | WaterUse],
) -> list[tuple[str, str]]:
    """Return the choices of a set of domain words, with a readable label each."""
    return [(word.value, word.value.replace("_", " ").capitalize()) for word in words]


HEAD_KINDS: Final = choices_of(HeadKind)
PLANT_TYPES: Final = choices_of(PlantType)
SOIL_TEXTURES: Final = choices_of(SoilTexture)
EXPOSURES: Final = choices_of(Exposure)
WATER_USES: Final = choices_of(WaterUse)
MONTHS = 12


def check_root_depths(depths: object) -> None:
    """Refuse root depths that are not twelve numbers between 25 and 3,000 mm."""
    numbers = depths if isinstance(depths, list) and len(depths) == MONTHS else [None]
    if not all(isinstance(depth, int | float) and 25 <= depth <= 3000 for depth in numbers):
        raise ValidationError(
            "Give twelve root depths, January to December, each between 25 and 3,000 mm.",
            code="root-depths",
        )


def check_plant_factors(factors: object) -> None:
    """Refuse plant factors that are not twelve numbers between 0.05 and 1.5."""
    numbers = factors if isinstance(factors, list) and len(factors) == MONTHS else [True]
    if not all(
        isinstance(each, int | float) and not isinstance(each, bool) and 0.05 <= each <= 1.5
        for each in numbers
    ):
        raise ValidationError(
            "Give twelve plant factors, January to December, each between 0.05 and 1.5.",
            code="plant-factors",
        )


def check_day_of_year(text: str) -> None:
    """Refuse what is no day of every year, written as 11-15; 29 February is none."""
    if not re.fullmatch(r"\d\d-\d\d", text, re.ASCII) or not _is_date(f"2001-{text}"):
        raise ValidationError(
            f"'{text}' is no day of the year. Write month and day, such as 11-15.",
            code="day-of-year",
        )


def _is_date(text: str) -> bool:
    try:
        date.fromisoformat(text)
    except ValueError:
        return False
    return True


class Zone(MeasuredRow):
    """What waters together: area, heads, plants, soil and sun of one valve (or of one hose)."""

    retires_by: ClassVar[str] = "is_active"
    needs_live: ClassVar[tuple[str, ...]] = ("property", "controller")

    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="zones")
    controller = models.ForeignKey(
        Controller, on_delete=models.PROTECT, related_name="zones", null=True, blank=True
    )
    number = models.PositiveSmallIntegerField()
    name = models.CharField(max_length=100)
    area_m2 = models.FloatField(null=True, blank=True)
    head_kind = models.CharField(max_length=20, choices=HEAD_KINDS)
    head_spacing_m = models.FloatField(
        null=True, blank=True, help_text="Usual distance from head to head [m]."
    )
    strip_width_m = models.FloatField(
        null=True, blank=True, help_text="Narrowest planted width, paving left out [m]."
    )
    is_bounded_by_paving = models.BooleanField(
        null=True, blank=True, help_text="People walk or drive along its sides."
    )
    least_paving_gap_m = models.FloatField(
        null=True, blank=True, help_text="From the paving to the head nearest to it [m]."
    )
    plant_type = models.CharField(max_length=30, choices=PLANT_TYPES)
    plant_factor = models.FloatField(
        null=True, blank=True, help_text="Overrides the plant type's factor in every month."
    )
    plant_factors = models.JSONField(
        null=True, blank=True, validators=[check_plant_factors],
        help_text="January to December; overrides the plant type's factors.",
    )  # fmt: skip
    water_use = models.CharField(
        max_length=20, choices=WATER_USES, blank=True, default="", db_default="",
        help_text="How much water the plants are known to use; overrides the plant type's factors.",
    )  # fmt: skip
    density_factor = models.FloatField(
        default=1.0, db_default=1.0, help_text="0.5 sparse, 1 usual, 1.3 trees over shrubs."
    )
    is_special_landscape = models.BooleanField(
        default=False, db_default=False,
        help_text="Food is grown here, or people play on it; of water budgets alone.",
    )  # fmt: skip
    planting_date = models.DateField(
        null=True, blank=True, help_text="Until its plants have rooted they are watered shallowly."
    )
    dormant_from = models.CharField(
        max_length=5, blank=True, default="", db_default="", validators=[check_day_of_year],
        help_text="Month and day from which the plants rest each year, such as 11-15.",
    )  # fmt: skip
    dormant_until = models.CharField(
        max_length=5, blank=True, default="", db_default="", validators=[check_day_of_year]
    )
    overseeded_from = models.CharField(
        max_length=5, blank=True, default="", db_default="", validators=[check_day_of_year],
        help_text="Month and day from which cool-season grass stands in warm-season turf.",
    )  # fmt: skip
    overseeded_until = models.CharField(
        max_length=5, blank=True, default="", db_default="", validators=[check_day_of_year]
    )
    quality_factor = models.FloatField(default=1.0)
    soil_texture = models.CharField(max_length=20, choices=SOIL_TEXTURES)
    slope_percent = models.FloatField(default=0.0)
    exposure = models.CharField(max_length=20, choices=EXPOSURES, blank=True)
    microclimate_factor = models.FloatField(null=True, blank=True)
    root_depths_mm = models.JSONField(
        null=True, blank=True, validators=[check_root_depths],
        help_text="January to December; empty: as usual for the plant type.",
    )  # fmt: skip
    allowed_depletion = models.FloatField(null=True, blank=True)
    available_mm_m = models.FloatField(null=True, blank=True)
    intake_mm_h = models.FloatField(null=True, blank=True)
    accumulation_mm = models.FloatField(null=True, blank=True)
    min_days_between = models.PositiveSmallIntegerField(default=1)
    max_days_between = models.PositiveSmallIntegerField(default=14)
    is_active = models.BooleanField(default=True)
    reference = models.CharField(
        max_length=60, blank=True, default="", db_default="", help_text="Its number in your books."
    )

    class Meta:
        ordering = ["property_id", "number"]
        constraints = [
            one_of("head_kind", HEAD_KINDS),
            one_of("plant_type", PLANT_TYPES),
            one_of("soil_texture", SOIL_TEXTURES),
            one_of("exposure", [("", ""), *EXPOSURES]),
            between("number", 1, 200, words="the zone number"),
            between("area_m2", 0.1, 1_000_000, words="the area in square metres"),
            between("head_spacing_m", 0.2, 60, words="the head spacing in metres"),
            between("strip_width_m", 0, 1000, words="the width of the strip in metres"),
            between("least_paving_gap_m", 0, 1000, words="the gap to the paving in metres"),
            between("plant_factor", 0.05, 1.5, words="the plant factor"),
            one_of("water_use", [("", ""), *WATER_USES]),
            models.CheckConstraint(
                condition=Q(dormant_from="", dormant_until="")
                | (~Q(dormant_from="") & ~Q(dormant_until="")),
                name="zone_dormancy_whole",
                violation_error_message="dormant_until: give both days of the rest, or none.",
            ),
            models.CheckConstraint(
                condition=Q(overseeded_from="", overseeded_until="")
                | (~Q(overseeded_from="") & ~Q(overseeded_until="")),
                name="zone_overseeding_whole",
                violation_error_message="overseeded_until: give both days, or none.",
            ),
            between("density_factor", 0.5, 1.3, words="the density factor"),
            models.CheckConstraint(
                condition=Q(plant_factors__isnull=True, water_use="")
                | Q(plant_factor__isnull=True, water_use="")
                | Q(plant_factor__isnull=True, plant_factors__isnull=True),
                name="zone_plants_told_once",
                violation_error_message=(
                    "plant_factor: give one factor, twelve factors or a water use, one of them."
                ),
            ),
            between("quality_factor", 0.1, 1.0, words="the quality factor"),
            between("slope_percent", 0, 100, words="the slope in percent"),
            between("microclimate_factor", 0.5, 1.4, words="the microclimate factor"),
            between("allowed_depletion", 0.1, 0.8, words="the allowed depletion"),
            between("available_mm_m", 20, 300, words="the available water in mm per metre"),
            between("intake_mm_h", 0.5, 500, words="the soil's intake in mm/h"),
            between("accumulation_mm", 0.5, 50, words="the surface accumulation in mm"),
            between("min_days_between", 1, 31, words="the shortest days between"),
            between("max_days_between", 1, 31, words="the longest days between"),
            models.CheckConstraint(
                condition=Q(min_days_between__lte=models.F("max_days_between")),
                name="zone_days_in_order",
                violation_error_message=(
                    "max_days_between: the longest gap must not be under the shortest."
                ),
            ),
            models.CheckConstraint(
                condition=(~Q(exposure="") & Q(microclimate_factor__isnull=True))
                | (Q(exposure="") & Q(microclimate_factor__isnull=False)),
                name="zone_exposure_or_microclimate",
                violation_error_message=(
                    "exposure: give an exposure or a microclimate factor, one of them."
                ),
            ),
            models.UniqueConstraint(
                fields=["controller", "number"],
                name="zone_number_once",
                violation_error_message="number: this controller has a zone of that number.",
            ),
            models.UniqueConstraint(
                fields=["property", "number"],
                condition=Q(controller__isnull=True),
                name="zone_number_once_without_controller",
                violation_error_message="number: this property has a zone of that number.",
            ),
            reference_once("zone"),
        ]

    def __str__(self) -> str:
        return f"{self.number} {self.name}"
