"""What was seen on the plants, and the treatments that ask something of the water."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.db.models import F, Q

from audits.domain.symptom_words import SYMPTOM_WORDS, SymptomKind
from audits.domain.symptoms import Spot
from audits.models.visits import Visit
from properties.models import MeasuredRow, Property, Row, Zone
from properties.models.checks import between, one_of

SYMPTOM_KINDS = [
    (kind.value, SYMPTOM_WORDS[kind].removeprefix("the ").capitalize()) for kind in SymptomKind
]
SPOTS = [(spot.value, spot.value.capitalize()) for spot in Spot]


class PlantSymptom(Row):
    """Something seen on plants or ground, told by its look: never a diagnosis."""

    unlogged: ClassVar[frozenset[str]] = frozenset({"note"})

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="symptoms")
    zone = models.ForeignKey(Zone, on_delete=models.PROTECT, related_name="symptoms")
    kind = models.CharField(max_length=40, choices=SYMPTOM_KINDS)
    spot = models.CharField(max_length=20, choices=SPOTS, blank=True)
    note = models.TextField(blank=True, max_length=2000)
    seen_at = models.DateTimeField()

    class Meta:
        ordering = ["-seen_at", "-id"]
        constraints = [one_of("kind", SYMPTOM_KINDS), one_of("spot", [("", ""), *SPOTS])]

    def __str__(self) -> str:
        return self.get_kind_display()


class TreatmentKind(models.TextChoices):
    WATER_IN = "water_in", "Water in"
    HOLD_WATER = "hold_water", "Hold water"


class Treatment(MeasuredRow):
    """A treatment whose label asks for water or for its absence; the label binds."""

    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="treatments")
    zone = models.ForeignKey(
        Zone, on_delete=models.PROTECT, related_name="treatments", null=True, blank=True
    )
    visit = models.ForeignKey(
        Visit, on_delete=models.PROTECT, related_name="treatments", null=True, blank=True
    )
    kind = models.CharField(max_length=20, choices=TreatmentKind.choices)
    label = models.CharField(max_length=200, help_text="The product label that binds.")
    applied_at = models.DateTimeField()
    until = models.DateTimeField()
    at_most_mm = models.FloatField(null=True, blank=True)
    is_called_off = models.BooleanField(default=False)

    class Meta:
        ordering = ["-applied_at", "-id"]
        constraints = [
            one_of("kind", TreatmentKind.choices),
            between("at_most_mm", 0.1, 50, words="the depth to water in, in mm,"),
            models.CheckConstraint(
                condition=Q(until__gt=F("applied_at")),
                name="treatment_window",
                violation_error_message="until: the window must end after the application.",
            ),
            models.CheckConstraint(
                condition=Q(kind=TreatmentKind.WATER_IN, at_most_mm__isnull=False)
                | Q(kind=TreatmentKind.HOLD_WATER, at_most_mm__isnull=True),
                name="treatment_depth_fits_kind",
                violation_error_message="at_most_mm: only what is watered in has a depth.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} until {self.until:%Y-%m-%d %H:%M}"
