"""The heads in a zone: of one kind and nozzle each."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.db.models import Q

from properties.domain.site import HeadKind
from properties.models.checks import between, one_of
from properties.models.rows import MeasuredRow, Retirable
from properties.models.zones import HEAD_KINDS, Zone


class InUse(models.Manager["HeadGroup"]):
    """Leaves out what is retired, `zone.head_groups` too: heads that are gone water nothing."""

    def get_queryset(self) -> models.QuerySet[HeadGroup]:
        return super().get_queryset().filter(retired_at__isnull=True)


class HeadGroup(Retirable, MeasuredRow):
    """Heads of one kind and nozzle in a zone; what is computed knows those in use alone."""

    needs_live: ClassVar[tuple[str, ...]] = ("zone",)

    zone = models.ForeignKey(Zone, on_delete=models.PROTECT, related_name="head_groups")
    name = models.CharField(max_length=100, blank=True, help_text="Such as: corners.")
    kind = models.CharField(max_length=20, choices=HEAD_KINDS)
    count = models.PositiveSmallIntegerField()
    rated_flow_l_min = models.FloatField(help_text="Of one head at the rated pressure.")
    rated_pressure_kpa = models.FloatField(null=True, blank=True)
    arc_deg = models.PositiveSmallIntegerField(null=True, blank=True)
    throw_m = models.FloatField(null=True, blank=True)
    emitter_spacing_m = models.FloatField(
        null=True, blank=True, help_text="Drip: between two emitters of a lateral [m]."
    )
    lateral_spacing_m = models.FloatField(
        null=True, blank=True, help_text="Drip: between two laterals [m]."
    )
    wetted_part = models.FloatField(
        null=True, blank=True, help_text="Drip: wetted part of the planted area, 0 to 1."
    )
    position = models.CharField(
        max_length=100,
        blank=True,
        default="",
        db_default="",
        help_text="Hose: where they are set down.",
    )
    tap = models.CharField(
        max_length=100,
        blank=True,
        default="",
        db_default="",
        help_text="Hose: the tap that feeds them.",
    )
    wetted_area_m2 = models.FloatField(
        null=True, blank=True, help_text="Hose: what one sprinkler wets from its place [m2]."
    )

    objects = InUse()
    of_all_times = models.Manager()

    class Meta:
        ordering = ["zone_id", "id"]
        constraints = [
            one_of("kind", HEAD_KINDS),
            between("count", 1, 2000, words="the number of heads"),
            between("rated_flow_l_min", 0.001, 500, words="the rated flow in L/min"),
            between("rated_pressure_kpa", 10, 2500, words="the rated pressure in kPa"),
            between("arc_deg", 1, 360, words="the arc in degrees"),
            between("throw_m", 0.1, 60, words="the throw in metres"),
            between("emitter_spacing_m", 0.05, 10, words="the emitter spacing in metres"),
            between("lateral_spacing_m", 0.05, 10, words="the lateral spacing in metres"),
            between("wetted_part", 0.05, 1, words="the wetted part"),
            between("wetted_area_m2", 0.1, 10_000, words="the wetted area in square metres"),
            models.CheckConstraint(
                condition=Q(kind=HeadKind.HOSE_END)
                | Q(position="", tap="", wetted_area_m2__isnull=True),
                name="head_group_place_is_of_a_hose",
                violation_error_message=(
                    "kind: position, tap and wetted area are of hose-end sprinklers alone."
                ),
            ),
            models.UniqueConstraint(
                fields=["zone", "position"],
                condition=~Q(position=""),
                name="head_group_position_once",
                violation_error_message="position: this zone has sprinklers there already.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.count} {self.kind}"
