"""Writing what a night found of zones, only where it differs from what is stored."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import Final
from uuid import UUID

from django.db import connection

from scheduling.models import ZoneOutlook
from scheduling.selectors.night_inputs import Told

_COLUMNS: Final = ("zone_id", "days_between", "percent", "next_on", "changed_on")
_KINDS: Final = ("uuid", "smallint", "smallint", "date", "date")
_INCOMING: Final = "incoming_outlooks"
_FIELDS: Final = ("days_between", "percent", "next_on", "changed_on")


def write_outlooks(outlooks: Sequence[tuple[UUID, Told]], *, on: dt.date) -> int:
    """Write outlooks in place of those that are there; return how many."""
    if not outlooks:
        return 0
    if connection.vendor == "postgresql":
        _copy(outlooks, on)
    else:
        _save(outlooks, on)
    return len(outlooks)


def _save(outlooks: Sequence[tuple[UUID, Told]], on: dt.date) -> None:
    rows = [
        ZoneOutlook(
            zone_id=zone, days_between=days, percent=percent, next_on=next_on, changed_on=on
        )
        for zone, (days, percent, next_on) in outlooks
    ]  # fmt: skip
    ZoneOutlook.objects.bulk_create(
        rows, 500, update_conflicts=True, unique_fields=["zone"], update_fields=_FIELDS
    )


def _copy(outlooks: Sequence[tuple[UUID, Told]], on: dt.date) -> None:
    """Bring them by COPY into a table of this transaction, and from there in one statement."""
    lines = "".join(
        f"{zone}\t{days}\t{percent}\t{next_on or chr(92) + 'N'}\t{on}\n"
        for zone, (days, percent, next_on) in outlooks
    )
    columns = ", ".join(f"{name} {kind}" for name, kind in zip(_COLUMNS, _KINDS, strict=True))
    names = ", ".join(_COLUMNS)
    changes = ", ".join(f"{name} = EXCLUDED.{name}" for name in _COLUMNS[1:])
    table = ZoneOutlook._meta.db_table
    with connection.cursor() as cursor:
        cursor.execute(f"CREATE TEMPORARY TABLE {_INCOMING} ({columns}) ON COMMIT DROP")
        with cursor.copy(f"COPY {_INCOMING} FROM STDIN") as copy:
            copy.write(lines.encode())
        cursor.execute(
            f"INSERT INTO {table} ({names}) SELECT {names} FROM {_INCOMING}"  # noqa: S608
            f" ON CONFLICT (zone_id) DO UPDATE SET {changes}"
        )
        cursor.execute(f"DROP TABLE {_INCOMING}")
