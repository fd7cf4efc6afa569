"""Catch tests: facts that are recorded once and never edited."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.db.models import Q

from audits.domain.catch_cups import CupShape
from audits.models.visits import Visit
from properties.models import MeasuredRow, Zone
from properties.models.checks import between, one_of

CUP_SHAPES = [(shape.value, shape.value.replace("_", " ").capitalize()) for shape in CupShape]


class CatchTest(MeasuredRow):
    """What the cups of one run caught, and what that computes to.

    A pooled test (all cups poured together) has a rate and no uniformity. A test taken before
    something was mended on the spot describes a zone that is no more: it does not rule the plan.
    A test that turns out wrong is superseded by a better one, or voided with a reason.
    """

    unlogged: ClassVar[frozenset[str]] = frozenset({"void_reason"})

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="catch_tests")
    zone = models.ForeignKey(Zone, on_delete=models.PROTECT, related_name="catch_tests")
    taken_at = models.DateTimeField()
    run_min = models.FloatField()
    is_pooled = models.BooleanField()
    cups = models.PositiveSmallIntegerField()
    cup_shape = models.CharField(max_length=20, choices=CUP_SHAPES)
    throat_area_cm2 = models.FloatField(null=True, blank=True)
    wind_m_s = models.FloatField(null=True, blank=True)
    cups_level = models.BooleanField(default=True)
    before_mending = models.BooleanField(default=False)
    supersedes = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="successors",
        help_text="The test that this one replaces; voiding this one puts that one back.",
    )  # fmt: skip
    voided_at = models.DateTimeField(null=True, blank=True, editable=False)
    void_reason = models.CharField(max_length=500, blank=True, editable=False)
    mean_depth_mm = models.FloatField()
    rate_mm_h = models.FloatField()
    rate_low_mm_h = models.FloatField()
    rate_high_mm_h = models.FloatField()
    du_lq = models.FloatField(null=True, blank=True)
    du_lh = models.FloatField(null=True, blank=True)
    cu = models.FloatField(null=True, blank=True)

    class Meta:
        ordering = ["-taken_at", "-id"]
        indexes = [
            models.Index(fields=["zone", "-taken_at"], name="catch_test_of_zone"),
            models.Index(fields=["taken_at", "id"], name="catch_test_by_moment"),
        ]
        constraints = [
            one_of("cup_shape", CUP_SHAPES),
            between("run_min", 0.1, 1440, words="the run in minutes"),
            between("cups", 1, 500, words="the number of cups"),
            between("rate_mm_h", 0.1, 1000, words="the rate in mm/h"),
            between("du_lq", 0, 1, words="the low-quarter uniformity"),
            models.CheckConstraint(
                condition=Q(rate_low_mm_h__lte=models.F("rate_mm_h"))
                & Q(rate_high_mm_h__gte=models.F("rate_mm_h")),
                name="catch_test_rate_inside_interval",
            ),
            models.CheckConstraint(
                condition=Q(is_pooled=False) | Q(du_lq__isnull=True),
                name="catch_test_pooled_has_no_uniformity",
            ),
            models.CheckConstraint(
                condition=Q(voided_at__isnull=True, void_reason="")
                | (Q(voided_at__isnull=False) & ~Q(void_reason="")),
                name="catch_test_void_has_reason",
            ),
            models.UniqueConstraint(
                fields=["supersedes"],
                condition=Q(voided_at__isnull=True),
                name="catch_test_superseded_once",
                violation_error_message="supersedes: another test replaces this one already.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.cups} cups on {self.taken_at:%Y-%m-%d}"


class CupReading(models.Model):
    """One cup: its depth, and where it stood when somebody noted it."""

    test = models.ForeignKey(CatchTest, on_delete=models.PROTECT, related_name="readings")
    number = models.PositiveSmallIntegerField()
    depth_mm = models.FloatField()
    x_m = models.FloatField(null=True, blank=True)
    y_m = models.FloatField(null=True, blank=True)

    class Meta:
        ordering = ["test_id", "number"]
        constraints = [
            models.UniqueConstraint(fields=["test", "number"], name="cup_number_once"),
            between("depth_mm", 0, 300, words="the depth in a cup in mm"),
            models.CheckConstraint(
                condition=Q(x_m__isnull=True, y_m__isnull=True)
                | Q(x_m__isnull=False, y_m__isnull=False),
                name="cup_position_whole",
            ),
        ]

    def __str__(self) -> str:
        return f"cup {self.number}"
