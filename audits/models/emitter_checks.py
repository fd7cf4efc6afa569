"""Emitters caught one by one: facts that are recorded once and never edited."""

from __future__ import annotations

from django.db import models
from django.db.models import F, Q

from audits.models.visits import Visit
from properties.models import MeasuredRow, Zone
from properties.models.checks import between


class EmitterCheck(MeasuredRow):
    """What single emitters of a drip zone dripped, and what that computes to.

    A newer check outdoes an older one. An emitter that drips nothing is a reading of 0.
    """

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="emitter_checks")
    zone = models.ForeignKey(Zone, on_delete=models.PROTECT, related_name="emitter_checks")
    taken_at = models.DateTimeField()
    catch_s = models.FloatField(
        null=True, blank=True, help_text="How long each emitter was caught [s]; empty for flows."
    )
    running_kpa = models.FloatField(null=True, blank=True)
    has_pump = models.BooleanField(default=False)
    emitters = models.PositiveSmallIntegerField(editable=False)
    dry_emitters = models.PositiveSmallIntegerField(editable=False)
    mean_flow_l_min = models.FloatField(editable=False)
    emission_uniformity = models.FloatField(editable=False)

    class Meta:
        ordering = ["-taken_at", "-id"]
        indexes = [models.Index(fields=["zone", "-taken_at"], name="emitter_check_of_zone")]
        constraints = [
            between("catch_s", 1, 7200, words="the time of the catch in seconds"),
            between("running_kpa", 0, 2500, words="the running pressure in kPa"),
            between("emitters", 1, 500, words="the number of emitters"),
            between("mean_flow_l_min", 0, 10, words="the mean flow in L/min"),
            between("emission_uniformity", 0, 1, words="the emission uniformity"),
            models.CheckConstraint(
                condition=Q(dry_emitters__lt=F("emitters")) & Q(mean_flow_l_min__gt=0),
                name="emitter_check_is_not_all_dry",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.emitters} emitters on {self.taken_at:%Y-%m-%d}"


class EmitterReading(models.Model):
    """One emitter: its flow, and the volume caught of it if it was caught."""

    check_of = models.ForeignKey(EmitterCheck, on_delete=models.PROTECT, related_name="readings")
    number = models.PositiveSmallIntegerField()
    volume_ml = models.FloatField(null=True, blank=True)
    flow_l_min = models.FloatField()

    class Meta:
        ordering = ["check_of_id", "number"]
        constraints = [
            models.UniqueConstraint(fields=["check_of", "number"], name="emitter_number_once"),
            between("volume_ml", 0, 50_000, words="the volume in mL"),
            between("flow_l_min", 0, 10, words="the flow of an emitter in L/min"),
        ]

    def __str__(self) -> str:
        return f"emitter {self.number}"
