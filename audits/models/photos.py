"""Photos of faults, symptoms and mended work, re-encoded so that nothing but a picture is kept."""

from __future__ import annotations

from typing import ClassVar

from django.db import models

from audits.models.visits import Visit
from properties.models import Row, Zone
from properties.models.checks import between


class Photo(Row):
    """One picture taken at a visit, of a zone or of the property; its position data is dropped."""

    unlogged: ClassVar[frozenset[str]] = frozenset({"caption"})

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="photos")
    zone = models.ForeignKey(
        Zone, on_delete=models.PROTECT, related_name="photos", null=True, blank=True
    )
    finding = models.ForeignKey(
        "audits.Finding", on_delete=models.PROTECT, related_name="photos", null=True, blank=True
    )
    taken_at = models.DateTimeField()
    caption = models.CharField(max_length=200, blank=True)
    source_sha256 = models.CharField(
        max_length=64, editable=False, help_text="Of the bytes as they were sent."
    )
    width_px = models.PositiveIntegerField(editable=False)
    height_px = models.PositiveIntegerField(editable=False)
    jpeg = models.BinaryField(editable=False)

    class Meta:
        ordering = ["-taken_at", "-id"]
        constraints = [
            between("width_px", 1, 20_000, words="the width of the picture"),
            between("height_px", 1, 20_000, words="the height of the picture"),
        ]

    def __str__(self) -> str:
        return self.caption or f"photo on {self.taken_at:%Y-%m-%d}"
