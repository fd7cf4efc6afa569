"""Which column of ours each heading of a file is."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Final

from properties.domain.errors import InvalidInputError
from properties.domain.spreadsheet_alike import plain_words
from properties.domain.spreadsheet_columns import Column, Kind, Takes, unit_named
from properties.domain.spreadsheet_kinds import columns_of
from properties.domain.spreadsheet_text import MOST_COLUMNS
from properties.domain.units import System, dimension, preferred_unit

_LONGEST_UNIT: Final = 4  # words
_MEASURED: Final = (Takes.QUANTITY, Takes.MONTHS)


@dataclass(frozen=True)
class Place:
    """Where a column of ours stands in the file, under which heading, and in which unit."""

    index: int
    heading: str
    column: Column
    unit: str | None = None


@dataclass(frozen=True)
class Headings:
    """What a file's first row says: the columns that we take, and those that nobody knows."""

    places: tuple[Place, ...]
    width: int
    ignored: tuple[int, ...] = field(default=())


@lru_cache
def known_headings(kind: Kind) -> dict[str, Column]:
    """Return every heading of a kind of file; of one with all kinds, what is there once."""
    columns = columns_of(kind)
    words = [(heading, column) for column in columns for heading in column.full_headings()]
    counts = Counter(heading for column in columns for heading in column.headings())
    words += [
        (heading, column)
        for column in columns
        for heading in column.headings()
        if kind is not Kind.EVERYTHING or counts[heading] == 1
    ]
    return dict(words)


def column_headed(heading: str, kind: Kind) -> tuple[Column, str | None] | None:
    """Return the column that a heading means and the unit that it names, or None."""
    known, words = known_headings(kind), plain_words(heading.replace("/", " ")).split()
    column = known.get(" ".join(words))
    if column is not None:
        return column, None
    for count in range(1, min(_LONGEST_UNIT, len(words) - 1) + 1):
        column = known.get(" ".join(words[:-count]))
        if column is None or not column.dimension:
            continue
        unit = unit_named(" ".join(words[-count:]), set(dimension(column.dimension).units))
        if unit is not None:
            return column, unit
    return None


def read_headings(
    cells: Sequence[str],
    kind: Kind,
    *,
    said: Mapping[str, str],
    ignores_unknown: bool,
    system: System | None,
) -> Headings:
    """Match the headings of a file with our columns.

    Parameters
    ----------
    cells : the first row of the file.
    kind : what its rows are.
    said : for a heading of the file the heading that it stands for; empty: not to be taken.
    ignores_unknown : whether headings that nobody knows are left out.
    system : the units of quantities whose heading names none; None: nobody said.

    Raises
    ------
    InvalidInputError
        For headings that are unknown, missing, there twice, or quantities without any unit.
    """
    _check_said(cells, said)
    places, unknown, ignored = [], [], []
    for index, cell in enumerate(cells):
        heading = cell.strip()
        meant = _said_for(heading, said)
        found = column_headed(meant, kind) if meant else None
        if found is not None:
            column, unit = found
            places.append(Place(index, heading, column, unit or _usual_unit(column, system)))
        elif heading:
            ignored.append(index)
            unknown += [heading] if meant else []
    if unknown and not ignores_unknown:
        raise _unknown(unknown, kind)
    _check_places(places, kind)
    if len(cells) > MOST_COLUMNS:
        raise InvalidInputError(
            f"The file has more than {MOST_COLUMNS} columns.",
            field="file", code="too-many-columns", remedy="Delete columns that nobody needs.",
        )  # fmt: skip
    return Headings(tuple(places), len(cells), tuple(ignored))


def _said_for(heading: str, said: Mapping[str, str]) -> str:
    words = plain_words(heading)
    return next((meant for name, meant in said.items() if plain_words(name) == words), heading)


def _usual_unit(column: Column, system: System | None) -> str | None:
    if column.takes not in _MEASURED or not column.dimension or system is None:
        return None
    return preferred_unit(dimension(column.dimension), system)


def _check_said(cells: Sequence[str], said: Mapping[str, str]) -> None:
    there = {plain_words(cell) for cell in cells}
    absent = [name for name in said if plain_words(name) not in there]
    if absent:
        raise InvalidInputError(
            f"The file has no heading '{absent[0]}'.",
            field="headings", code="no-such-heading",
            remedy=f"Name headings of the file: {', '.join(cell.strip() for cell in cells)}.",
        )  # fmt: skip


def _check_places(places: Sequence[Place], kind: Kind) -> None:
    by_column: dict[Column, list[str]] = {}
    for place in places:
        by_column.setdefault(place.column, []).append(place.heading)
    for column, headings in by_column.items():
        if len(headings) > 1:
            raise InvalidInputError(
                f"The headings {', '.join(headings)} mean the same: {column.heading}.",
                field="headings", code="heading-twice",
                remedy='Say in `headings` which of them stands for nothing ("").',
            )  # fmt: skip
    missing = [
        column.heading
        for column in columns_of(kind)
        if column.is_needed and column not in by_column
    ]
    if missing:
        raise InvalidInputError(
            f"The file has no heading for: {', '.join(missing)}.",
            field="headings", code="heading-missing",
            remedy="Add the columns, or say in `headings` which heading stands for each.",
        )  # fmt: skip


def _unknown(unknown: Sequence[str], kind: Kind) -> InvalidInputError:
    known = ", ".join(column.heading for column in columns_of(kind))
    return InvalidInputError(
        f"Nobody knows the headings: {', '.join(unknown)}.",
        field="headings", code="heading-unknown",
        remedy=f"Say in `headings` what each stands for, or that unknown ones are to be ignored."
        f" Known: {known}.",
    )  # fmt: skip
