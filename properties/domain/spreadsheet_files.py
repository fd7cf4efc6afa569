"""Rows as CSV (RFC 4180) that a spreadsheet opens, runs nothing of, and an import reads back."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator, Sequence
from typing import Any, Final

from properties.domain.spreadsheet_cells import harmless
from properties.domain.spreadsheet_columns import Column
from properties.domain.units import System, dimension, preferred_unit

BYTE_ORDER_MARK: Final = "\ufeff"


class _Line:
    """What `csv` writes to: hands each line back instead of keeping it."""

    def write(self, line: str) -> str:
        return line


def csv_lines(
    headings: Sequence[str], rows: Iterable[Sequence[Any]], *, with_mark: bool = False
) -> Iterator[bytes]:
    """Yield a row of headings and then each row, in UTF-8, without holding them all.

    Some spreadsheets know UTF-8 by the mark at the beginning alone. Texts are cells already
    (`cell_of`, `harmless`).
    """
    writer = csv.writer(_Line())
    first = str(writer.writerow(headings))
    yield (BYTE_ORDER_MARK + first if with_mark else first).encode()
    for row in rows:
        yield str(writer.writerow(row)).encode()


def unit_of(column: Column, system: System) -> str | None:
    """Return the unit in which a column goes out, or None where it has none."""
    return preferred_unit(dimension(column.dimension), system) if column.dimension else None


def heading_of(column: Column, unit: str | None) -> str:
    """Return a column's heading with its unit, as an import knows it."""
    return f"{column.heading} ({unit})" if unit else column.heading


def plain_cells(values: Iterable[Any]) -> list[str]:
    """Return texts and numbers of a report as cells."""
    return [harmless(str(value)) for value in values]
