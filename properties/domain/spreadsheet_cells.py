"""From a cell to the value of a field, and back to a cell that reads as the same value."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any, Final

from properties.domain.errors import InvalidInputError
from properties.domain.spreadsheet_alike import plain_words
from properties.domain.spreadsheet_columns import Column, Takes, unit_named
from properties.domain.spreadsheet_numbers import Writing, day_in, number_in, whole_in, yes_or_no
from properties.domain.spreadsheet_text import MOST_CELL_CHARS
from properties.domain.units import dimension, from_canonical, to_canonical

MONTHS: Final = 12
_EXACT_DIGITS: Final = 12
# A spreadsheet takes what starts like this for a formula, unless it is a plain number. One
# apostrophe more than there was marks such a text, so that taking one off gives it back.
_FORMULA: Final = re.compile(r"'*[=+\-@\t\r]")
_PLAIN_NUMBER: Final = re.compile(
    r"[+-]?[0-9]+(\.[0-9]+)?(e[+-]?[0-9]+)?", re.ASCII | re.IGNORECASE
)
_WITH_UNIT: Final = re.compile(
    r"([+\-\u2212]?[\d.,\u00a0\u202f ]*\d\.?(?:[eE][+-]?\d+)?)\s*(\D.*)?", re.ASCII | re.DOTALL
)


@dataclass(frozen=True)
class Cell:
    """What a cell holds: the value of its field, and of a quantity what was entered."""

    value: Any
    entered: dict[str, Any] | None = None


@dataclass(frozen=True)
class Limits:
    """What a field allows: the words of a choice by how people write them, or a longest text."""

    choices: Mapping[str, str] | None = None
    longest: int | None = None


def choice_words(choices: Mapping[str, str]) -> dict[str, str]:
    """Return the values of a choice by the plain words of value and label."""
    by_label = {plain_words(label): value for value, label in choices.items() if value}
    return by_label | {plain_words(value): value for value in choices if value}


def harmless(text: str) -> str:
    """Return text with an apostrophe before what a spreadsheet would run."""
    if _FORMULA.match(text) and not _PLAIN_NUMBER.fullmatch(text):
        return f"'{text}"
    return text


def as_meant(cell: str) -> str:
    """Return a cell without the apostrophe that `harmless` put before it, and trimmed."""
    return (cell[1:] if cell.startswith("'") and _FORMULA.match(cell) else cell).strip()


def read_cell(
    text: str, column: Column, unit: str | None, writing: Writing, limits: Limits
) -> Cell:
    """Read a cell that is not blank.

    Raises
    ------
    InvalidInputError
        With the name of the column, for what the column does not take.
    """
    if len(text) > MOST_CELL_CHARS:
        raise _too_long(len(text), MOST_CELL_CHARS, column)
    if "\0" in text:
        raise InvalidInputError(
            "The cell holds a sign that is no letter.",
            field=column.name, code="no-letters", remedy="Type the cell anew.",
        )  # fmt: skip
    return _READERS[column.takes](text, column, unit, writing, limits)


def cell_of(value: Any, column: Column, unit: str | None, entered: dict[str, Any] | None) -> str:
    """Return a field's value as a cell that `read_cell` takes for the same value."""
    if value is None or value == "":
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if column.takes is Takes.MONTHS:
        return _months_cell(value, column, unit, entered)
    if column.takes is Takes.QUANTITY and unit is not None:
        return _quantity_cell(value, column, unit, entered)
    return _plain_cell(value)


def _plain_cell(value: Any) -> str:
    if isinstance(value, float):
        return f"{value:.15g}"
    if isinstance(value, date):
        return value.isoformat()
    return str(value) if isinstance(value, int | Decimal) else harmless(str(value))


def _text(text: str, column: Column, unit: Any, writing: Any, limits: Limits) -> Cell:
    if limits.longest is not None and len(text) > limits.longest:
        raise _too_long(len(text), limits.longest, column)
    return Cell(text)


def _choice(text: str, column: Column, unit: Any, writing: Any, limits: Limits) -> Cell:
    words = limits.choices or {}
    found = words.get(plain_words(text))
    if found is None:
        raise InvalidInputError(
            f"{column.heading} cannot be that.",
            field=column.name, code="not-a-choice",
            remedy=f"Use one of: {', '.join(sorted(set(words.values())))}.",
        )  # fmt: skip
    return Cell(found)


def _yes_no(text: str, column: Column, unit: Any, writing: Any, limits: Any) -> Cell:
    return Cell(yes_or_no(text, field=column.name))


def _whole(text: str, column: Column, unit: Any, writing: Writing, limits: Any) -> Cell:
    return Cell(whole_in(text, writing, field=column.name))


def _number(text: str, column: Column, unit: Any, writing: Writing, limits: Any) -> Cell:
    return Cell(number_in(text, writing, field=column.name))


def _money(text: str, column: Column, unit: Any, writing: Writing, limits: Any) -> Cell:
    number = number_in(text, writing, field=column.name)
    return Cell(Decimal(f"{number:.4f}") if abs(number) < 1e9 else Decimal("1e9"))


def _day(text: str, column: Column, unit: Any, writing: Writing, limits: Any) -> Cell:
    return Cell(day_in(text, writing, field=column.name))


def _quantity(text: str, column: Column, unit: str | None, writing: Writing, limits: Any) -> Cell:
    """Read a number with its own unit ("500 sq ft"), or in that of the heading."""
    of = dimension(column.dimension)
    found = _WITH_UNIT.fullmatch(text.strip())
    told = (found[2] or "").strip() if found else ""
    number = number_in(found[1] if found and told else text, writing, field=column.name)
    known = (unit_named(told, set(of.units)) or told) if told else unit
    if known is None:
        raise _no_unit(column)
    canonical = to_canonical(number, known, of, field=column.name)
    return Cell(canonical, {"value": _short(number), "unit": known})


def _months(text: str, column: Column, unit: str | None, writing: Writing, limits: Any) -> Cell:
    numbers = [number_in(part, writing, field=column.name) for part in text.split()]
    if len(numbers) not in (1, MONTHS):
        raise InvalidInputError(
            f"These are {len(numbers)} numbers.",
            field=column.name, code="not-months",
            remedy="Write one number for the whole year, or twelve, January to December, with a"
            " space between two.",
        )  # fmt: skip
    all_months = numbers * (MONTHS // len(numbers))
    if not column.dimension:
        return Cell(all_months)
    if unit is None:
        raise _no_unit(column)
    of = dimension(column.dimension)
    canonical = [to_canonical(number, unit, of, field=column.name) for number in all_months]
    return Cell(canonical, {"unit": unit, "values": [_short(number) for number in numbers]})


def _short(number: float) -> float | int:
    """Return 500 for 500.0: people enter whole numbers as such."""
    return int(number) if number.is_integer() and abs(number) < 1e15 else number


def _months_cell(
    values: list[float], column: Column, unit: str | None, entered: dict[str, Any] | None
) -> str:
    numbers = values
    if column.dimension and unit is not None:
        of = dimension(column.dimension)
        numbers = [from_canonical(value, unit, of) for value in values]
        if entered and entered.get("unit") == unit and len(entered.get("values", ())) == MONTHS:
            numbers = entered["values"]
    texts = [f"{number:.{_EXACT_DIGITS}g}" for number in numbers]
    return texts[0] if len(set(texts)) == 1 else " ".join(texts)


def _quantity_cell(value: float, column: Column, unit: str, entered: dict[str, Any] | None) -> str:
    """Give back what was entered where the unit is the same, else enough digits to be exact."""
    if entered and entered.get("unit") == unit and "value" in entered:
        return f"{entered['value']:.{_EXACT_DIGITS}g}"
    number = from_canonical(value, unit, dimension(column.dimension))
    return f"{number:.{_EXACT_DIGITS}g}"


def _too_long(length: int, most: int, column: Column) -> InvalidInputError:
    return InvalidInputError(
        f"{length:,} signs are more than the {most:,} that fit.",
        field=column.name, code="too-long", remedy="Shorten the text.",
    )  # fmt: skip


def _no_unit(column: Column) -> InvalidInputError:
    units = ", ".join(dimension(column.dimension).units)
    return InvalidInputError(
        f"Neither the heading nor the cell says the unit of {column.heading}.",
        field=column.name, code="no-unit",
        remedy=f"Say in `units` whether the file is us or metric, or name one of {units}.",
    )  # fmt: skip


_READERS: Final[dict[Takes, Callable[..., Cell]]] = {
    Takes.TEXT: _text,
    Takes.OWNER: _text,
    Takes.CHOICE: _choice,
    Takes.YES_NO: _yes_no,
    Takes.WHOLE: _whole,
    Takes.NUMBER: _number,
    Takes.MONEY: _money,
    Takes.DATE: _day,
    Takes.QUANTITY: _quantity,
    Takes.MONTHS: _months,
}
