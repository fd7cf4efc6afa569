"""What the office takes out as CSV: each kind of row, with the headings that an import knows."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

from django.db.models import Q, QuerySet

from properties.domain.spreadsheet_cells import cell_of
from properties.domain.spreadsheet_columns import Column, Kind
from properties.domain.spreadsheet_files import csv_lines, heading_of, plain_cells, unit_of
from properties.domain.spreadsheet_kinds import COLUMNS
from properties.domain.units import System
from properties.models import Controller, Customer, Import, ImportLine, Property, Zone

_CHUNK_ROWS: Final = 500
_REPORT: Final = (
    "Row", "Outcome", "Reference", "Changes", "Cell", "Column", "Code", "What is wrong", "Remedy",
)  # fmt: skip


def exported_rows(kind: Kind) -> QuerySet[Any]:
    """Return the rows of a kind that are in use, as are those that own them."""
    rows: dict[Kind, QuerySet[Any]] = {
        Kind.CUSTOMERS: Customer.objects.all(),
        Kind.PROPERTIES: Property.objects.select_related("customer", "watering_district"),
        Kind.CONTROLLERS: Controller.objects.select_related("property"),
        Kind.ZONES: Zone.objects.select_related("property", "controller"),
    }
    retired: dict[Kind, tuple[str, ...]] = {
        Kind.CUSTOMERS: ("retired_at",),
        Kind.PROPERTIES: ("retired_at", "customer__retired_at"),
        Kind.CONTROLLERS: ("retired_at", "property__retired_at", "property__customer__retired_at"),
        Kind.ZONES: (
            "controller__retired_at", "property__retired_at", "property__customer__retired_at",
        ),
    }  # fmt: skip
    in_use = Q(**{f"{name}__isnull": True for name in retired[kind]})
    return rows[kind].filter(in_use).order_by("pk")


def exported_lines(kind: Kind, *, system: System, with_mark: bool) -> Iterator[bytes]:
    """Yield the rows of a kind as lines of CSV, quantities in the units of a system."""
    columns = [(column, unit_of(column, system)) for column in COLUMNS[kind]]
    rows = (
        [_cell(row, column, unit) for column, unit in columns]
        for row in exported_rows(kind).iterator(chunk_size=_CHUNK_ROWS)
    )
    headings = [heading_of(column, unit) for column, unit in columns]
    return csv_lines(headings, rows, with_mark=with_mark)


def report_lines(sheet: Import, *, with_mark: bool) -> Iterator[bytes]:
    """Yield the report of an import: a line for each fault, and one for each row without."""
    return csv_lines(_REPORT, _report_rows(sheet), with_mark=with_mark)


def _report_rows(sheet: Import) -> Iterator[list[str]]:
    for line in sheet.lines.order_by("row").iterator(chunk_size=_CHUNK_ROWS):
        first = (line.row, line.outcome, line.reference, ", ".join(line.changes))
        for fault in line.faults or [{}]:
            told = [fault.get(name, "") for name in ("cell", "column", "code", "detail", "remedy")]
            yield plain_cells([*first, *told])


def _cell(row: Any, column: Column, unit: str | None) -> str:
    value = _value(row, column)
    entered = (getattr(row, "entered", None) or {}).get(column.row_field)
    return cell_of(value, column, unit, entered)


def _value(row: Any, column: Column) -> Any:
    """Return a field's value; rows stand there by reference, or by id where they have none."""
    if column.name == "reference":
        return _reference(row)
    if column.name in ("customer", "property"):
        return _reference(getattr(row, column.name))
    if column.name in ("controller", "watering_district"):
        other = getattr(row, column.name)
        return other.name if other else ""
    return getattr(row, column.row_field)


def _reference(row: Any) -> str:
    return row.reference or f"id:{row.pk}"


def lines_of(sheet: Import) -> QuerySet[ImportLine]:
    """Return the rows of an import's report, in the order of the file."""
    return ImportLine.objects.filter(sheet=sheet).order_by("row")
