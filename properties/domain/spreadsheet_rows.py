"""From a row of a file to what it says of each kind of row, with every fault in it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass, field
from typing import Any

from properties.domain.errors import InvalidInputError
from properties.domain.spreadsheet_cells import Limits, as_meant, read_cell
from properties.domain.spreadsheet_columns import Column, Kind
from properties.domain.spreadsheet_headings import Headings, Place
from properties.domain.spreadsheet_kinds import COLUMNS, OWNERS, parts_of
from properties.domain.spreadsheet_numbers import Writing
from properties.domain.spreadsheet_text import Record, column_letters

AllLimits = Mapping[tuple[Kind, str], Limits]
NO_LIMITS = Limits()


@dataclass(frozen=True)
class Fault:
    """What is wrong in one cell, and what cures it; `cell` is its address in the spreadsheet."""

    cell: str
    column: str
    code: str
    detail: str
    remedy: str

    def as_json(self) -> dict[str, str]:
        return asdict(self)


@dataclass
class Draft:
    """What a row says of one customer, property, controller or zone."""

    of: Kind
    row: int
    values: dict[str, Any] = field(default_factory=dict)
    entered: dict[str, Any] = field(default_factory=dict)
    owners: dict[str, str] = field(default_factory=dict)
    reference: str = ""
    blanks: list[str] = field(default_factory=list)
    places: dict[str, Place] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)

    def refuse(self, name: str, code: str, detail: str, remedy: str) -> None:
        """Note a fault at the column of that name, or field; at the row's first cell without."""
        place = self.places.get(name)
        self.faults.append(_fault(self.row, place, name, code, detail, remedy))

    def refuse_as(self, refusal: InvalidInputError) -> None:
        self.refuse(refusal.field, refusal.code, refusal.detail, refusal.remedy)


@dataclass(frozen=True)
class Reading:
    """How the rows of a file are read."""

    kind: Kind
    headings: Headings
    writing: Writing
    limits: AllLimits

    def drafts(self, record: Record) -> list[Draft]:
        """Return what a row says of each kind of row that it tells of, owners first."""
        drafts = [self._draft(record, part) for part in parts_of(self.kind)]
        told = [draft for draft in drafts if len(drafts) == 1 or _tells(draft)]
        strays = list(self._strays(record))
        told = told or drafts[:1]
        told[0].faults += strays
        return told

    def _draft(self, record: Record, part: Kind) -> Draft:
        draft = Draft(part, record.row)
        for place in self.headings.places:
            if place.column.of is part:
                draft.places[place.column.name] = draft.places[place.column.row_field] = place
                self._take(draft, place, record)
        return draft

    def _take(self, draft: Draft, place: Place, record: Record) -> None:
        column = place.column
        text = as_meant(record.cells[place.index]) if place.index < len(record.cells) else ""
        if not text:
            draft.blanks.append(column.name)
            return
        limits = self.limits.get((column.of, column.name), NO_LIMITS)
        try:
            cell = read_cell(text, column, place.unit, self.writing, limits)
        except InvalidInputError as refusal:
            draft.refuse_as(refusal)
            return
        if column.name == "reference":
            draft.reference = cell.value
        elif column.name in OWNERS[column.of] or column.name == "watering_district":
            draft.owners[column.name] = cell.value
        else:
            draft.values[column.row_field] = cell.value
            if cell.entered is not None:
                draft.entered[column.row_field] = cell.entered

    def _strays(self, record: Record) -> Iterator[Fault]:
        """Name cells that stand under no heading: they would be lost in silence."""
        headed = {place.index for place in self.headings.places} | set(self.headings.ignored)
        for index, cell in enumerate(record.cells):
            if index not in headed and cell.strip():
                place = f"{column_letters(index)}{record.row}"
                yield Fault(
                    place, "", "no-heading", "This cell has no heading above it.",
                    "Head the column, or clear the cell; a comma within a cell needs quotation"
                    " marks around it.",
                )  # fmt: skip


def needed_columns(part: Kind, kind: Kind) -> Iterator[Column]:
    """Yield the columns that a new row cannot be without."""
    for column in COLUMNS[part]:
        is_by_neighbour = kind is Kind.EVERYTHING and column.name in OWNERS[part]
        if column.is_needed and not is_by_neighbour:
            yield column


def _tells(draft: Draft) -> bool:
    return bool(draft.values or draft.owners or draft.reference or draft.faults)


def _fault(row: int, place: Place | None, name: str, code: str, detail: str, remedy: str) -> Fault:
    if place is None:
        return Fault(f"A{row}", name, code, detail, remedy)
    cell = f"{column_letters(place.index)}{row}"
    return Fault(cell, place.heading, code, detail, remedy)
