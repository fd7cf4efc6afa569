"""What every business row has: an id that its maker chose, its moments, and a revision."""

from __future__ import annotations

from typing import ClassVar

from django.db import models

from properties.domain.ids import uuid7


class Row(models.Model):
    """An audited row.

    `unlogged` names personal fields whose values never enter an event; `retires_by` the field that
    says whether the row is retired, if it can be; `needs_live` the references that must not be
    retired when they are set.
    """

    unlogged: ClassVar[frozenset[str]] = frozenset()
    retires_by: ClassVar[str] = ""
    needs_live: ClassVar[tuple[str, ...]] = ()

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    created_at = models.DateTimeField(editable=False)
    changed_at = models.DateTimeField(editable=False)
    revision = models.PositiveIntegerField(default=1, editable=False)

    class Meta:
        abstract = True


class MeasuredRow(Row):
    """A row with physical quantities: metric numbers, and beside them what a person entered.

    `entered` maps the name of a metric field to `{"value": .., "unit": ..}`.
    """

    entered = models.JSONField(default=dict, blank=True, editable=False)

    class Meta:
        abstract = True


class Retirable(models.Model):
    """What can end without being lost: it leaves the lists, takes nothing new, can come back."""

    retires_by: ClassVar[str] = "retired_at"

    retired_at = models.DateTimeField(
        null=True, blank=True, editable=False, help_text="Since when it is out of use."
    )

    class Meta:
        abstract = True
