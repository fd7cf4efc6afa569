"""Remembering who took rows out of the product."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from properties.domain.spreadsheet_columns import Kind
from properties.models import Event, StaffMember
from properties.selectors.company import the_company
from properties.selectors.exports import exported_rows
from properties.services.events import record_event


@transaction.atomic
def note_export(kind: Kind, *, actor: StaffMember, now: datetime) -> Event:
    """Write the event of an export: who, what and how many rows, and none of their values."""
    told = {"exported": kind.value, "rows": exported_rows(kind).count()}
    return record_event(the_company(), act="exported", actor=actor, now=now, after=told)
