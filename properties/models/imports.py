"""Spreadsheets that the office brings in: kept until they are written, with a report by row."""

from __future__ import annotations

from typing import ClassVar, Final

from django.core.serializers.json import DjangoJSONEncoder
from django.db import models

from properties.domain.spreadsheet_columns import Kind
from properties.models.checks import one_of
from properties.models.rows import Row

IMPORT_KINDS: Final = [(kind.value, kind.value) for kind in Kind]


class ImportState(models.TextChoices):
    SENT = "sent", "Sent, to be looked at"
    LOOKED_AT = "looked_at", "Looked at, nothing written"
    UNREADABLE = "unreadable", "Cannot be read"
    TO_WRITE = "to_write", "To be written"
    WRITTEN = "written", "Written"
    CANCELLED = "cancelled", "Cancelled"


class Outcome(models.TextChoices):
    """What a row of a file does."""

    MADE = "made", "Made"
    CHANGED = "changed", "Changed"
    UNCHANGED = "unchanged", "Unchanged"
    REFUSED = "refused", "Refused"


class Import(Row):
    """A file of rows. `said` is how it is to be read; `report` what came of it, in numbers."""

    unlogged: ClassVar[frozenset[str]] = frozenset({"name", "said", "report"})

    kind = models.CharField(max_length=20, choices=IMPORT_KINDS)
    name = models.CharField(max_length=200)
    said = models.JSONField(default=dict, blank=True)
    sha256 = models.CharField(max_length=64, editable=False)
    size_bytes = models.PositiveIntegerField(editable=False)
    state = models.CharField(
        max_length=20, choices=ImportState.choices, default=ImportState.SENT, editable=False
    )
    only_good_rows = models.BooleanField(
        default=False, help_text="Rows with a fault are left out, and the others written."
    )
    rows = models.PositiveIntegerField(null=True, editable=False)
    rows_done = models.PositiveIntegerField(default=0, editable=False)
    report = models.JSONField(null=True, editable=False, encoder=DjangoJSONEncoder)
    looked_at_at = models.DateTimeField(null=True, editable=False)
    ended_at = models.DateTimeField(null=True, editable=False)

    class Meta:
        ordering = ["-id"]
        constraints = [
            one_of("kind", IMPORT_KINDS),
            one_of("state", ImportState.choices),
        ]

    def __str__(self) -> str:
        return f"{self.kind} from {self.name}"


class ImportPart(models.Model):
    """Some of the bytes of a file that waits: nobody ever holds a file whole."""

    sheet = models.ForeignKey(Import, on_delete=models.CASCADE, related_name="parts")
    number = models.PositiveIntegerField()
    content = models.BinaryField()

    class Meta:
        ordering = ["number"]
        constraints = [
            models.UniqueConstraint(fields=["sheet", "number"], name="import_part_once"),
        ]

    def __str__(self) -> str:
        return f"part {self.number}"


class ImportLine(models.Model):
    """What a row of a file did or would do, and each fault in it. It keeps no contact values."""

    sheet = models.ForeignKey(Import, on_delete=models.CASCADE, related_name="lines")
    row = models.PositiveIntegerField()
    outcome = models.CharField(max_length=20, choices=Outcome.choices)
    reference = models.CharField(max_length=200, blank=True)
    changes = models.JSONField(default=list)
    faults = models.JSONField(default=list)

    class Meta:
        ordering = ["row"]
        indexes = [models.Index(fields=["sheet", "outcome", "row"], name="import_line_by_outcome")]
        constraints = [
            one_of("outcome", Outcome.choices),
            models.UniqueConstraint(fields=["sheet", "row"], name="import_line_once"),
        ]

    def __str__(self) -> str:
        return f"row {self.row}: {self.outcome}"
