"""What went through the meter, at which pressure, and out of a hose: facts, never edited."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.db.models import F, Q

from audits.models.visits import Visit
from properties.models import MeasuredRow, Property, Zone
from properties.models.checks import between


class FlowCheck(MeasuredRow):
    """A zone run against the meter and the gauge; either may be missing, not both."""

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="flow_checks")
    zone = models.ForeignKey(Zone, on_delete=models.PROTECT, related_name="flow_checks")
    taken_at = models.DateTimeField()
    meter_before_l = models.FloatField(null=True, blank=True)
    meter_after_l = models.FloatField(null=True, blank=True)
    register_l = models.FloatField(
        null=True, blank=True, help_text="Where the meter's register comes round to zero [L]."
    )
    run_min = models.FloatField(null=True, blank=True)
    tap = models.CharField(
        max_length=100, blank=True, default="", db_default="",
        help_text="Of a hose, in the words of its sprinklers; empty for a valve.",
    )  # fmt: skip
    static_kpa = models.FloatField(null=True, blank=True)
    running_kpa = models.FloatField(null=True, blank=True)
    has_pump = models.BooleanField(default=False)
    flow_l_min = models.FloatField(null=True, blank=True, editable=False)

    class Meta:
        ordering = ["-taken_at", "-id"]
        indexes = [models.Index(fields=["zone", "-taken_at"], name="flow_check_of_zone")]
        constraints = [
            between("run_min", 0.1, 1440, words="the time between the readings in minutes"),
            between("static_kpa", 1, 2500, words="the static pressure in kPa"),
            between("running_kpa", 0, 2500, words="the running pressure in kPa"),
            between("flow_l_min", 0, 20_000, words="the metered flow in L/min"),
            models.CheckConstraint(
                condition=Q(
                    meter_before_l__isnull=True, meter_after_l__isnull=True, run_min__isnull=True
                )
                | Q(
                    meter_before_l__isnull=False, meter_after_l__isnull=False, run_min__isnull=False
                ),
                name="flow_check_meter_whole",
                violation_error_message=(
                    "meter_after_l: give both meter readings and the minutes between, or none."
                ),
            ),
            models.CheckConstraint(
                condition=Q(meter_before_l__isnull=False) | Q(running_kpa__isnull=False)
                | Q(static_kpa__isnull=False),
                name="flow_check_says_something",
                violation_error_message="running_kpa: give meter readings or a pressure.",
            ),
            models.CheckConstraint(
                condition=Q(running_kpa__isnull=True) | Q(static_kpa__isnull=True)
                | Q(has_pump=True) | Q(running_kpa__lte=F("static_kpa")),
                name="flow_check_running_below_static",
                violation_error_message=(
                    "running_kpa: the running pressure cannot exceed the static one without a pump."
                ),
            ),
        ]  # fmt: skip

    def __str__(self) -> str:
        return f"flow check on {self.taken_at:%Y-%m-%d}"


class BucketTest(MeasuredRow):
    """A bucket filled from a hose or a head against a watch."""

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="bucket_tests")
    zone = models.ForeignKey(Zone, on_delete=models.PROTECT, related_name="bucket_tests")
    taken_at = models.DateTimeField()
    volume_l = models.FloatField()
    seconds = models.FloatField()
    flow_l_min = models.FloatField(editable=False)

    class Meta:
        ordering = ["-taken_at", "-id"]
        constraints = [
            between("volume_l", 0.01, 1000, words="the volume in litres"),
            between("seconds", 1, 3600, words="the seconds"),
        ]

    def __str__(self) -> str:
        return f"bucket test on {self.taken_at:%Y-%m-%d}"


class MeterReading(MeasuredRow):
    """The property's water meter at a moment, read by whoever was there."""

    unlogged: ClassVar[frozenset[str]] = frozenset({"note"})

    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="meter_readings")
    visit = models.ForeignKey(
        Visit, on_delete=models.PROTECT, related_name="meter_readings", null=True, blank=True
    )
    read_at = models.DateTimeField()
    reading_l = models.FloatField()
    meter_changed = models.BooleanField(
        default=False,
        help_text="A new meter, or its register came round, since the reading before; see note.",
    )
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["-read_at", "-id"]
        constraints = [
            between("reading_l", 0, 1e12, words="the reading in litres"),
            models.UniqueConstraint(
                fields=["property", "read_at"],
                name="meter_read_once",
                violation_error_message="read_at: the meter was read at this moment already.",
            ),
            models.CheckConstraint(
                condition=Q(meter_changed=False) | ~Q(note=""),
                name="meter_change_has_note",
                violation_error_message="note: say in the note what changed of the meter.",
            ),
        ]

    def __str__(self) -> str:
        return f"meter on {self.read_at:%Y-%m-%d}"
