"""Quotes and mended work as CSV (RFC 4180) that a spreadsheet opens without running anything."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable, Iterator
from dataclasses import astuple, fields
from datetime import date
from decimal import Decimal
from typing import Any, Final

from audits.selectors.quotes import QuoteEntry

# Spreadsheets take a cell that starts like this for a formula, unless it is a plain number.
FORMULA_STARTS: Final = ("=", "+", "-", "@", "\t", "\r")
_NUMBER: Final = re.compile(r"[+-]?[0-9]+(\.[0-9]+)?")


class _Line:
    """What `csv` writes to: hands each line back instead of keeping it."""

    def write(self, line: str) -> str:
        return line


def quotes_csv(entries: Iterable[QuoteEntry]) -> Iterator[bytes]:
    """Yield a header row and one row for each entry, in UTF-8, without holding them all."""
    writer = csv.writer(_Line())
    yield _encoded(writer.writerow([field.name for field in fields(QuoteEntry)]))
    for entry in entries:
        yield _encoded(writer.writerow([cell(value) for value in astuple(entry)]))


def cell(value: Any) -> str:
    """Return a value as a cell: ISO days, two decimals, and no text that runs as a formula."""
    if value is None:
        return ""
    if isinstance(value, Decimal):
        return f"{value:.2f}"
    if isinstance(value, date):
        return value.isoformat()
    return harmless(str(value))


def harmless(text: str) -> str:
    """Return text with an apostrophe before what a spreadsheet would run."""
    if text.startswith(FORMULA_STARTS) and not _NUMBER.fullmatch(text):
        return f"'{text}"
    return text


def _encoded(line: Any) -> bytes:
    return str(line).encode()
