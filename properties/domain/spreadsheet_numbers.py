"""Numbers, days and words as people type them into spreadsheets."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Final

from properties.domain.errors import InvalidInputError
from properties.domain.spreadsheet_alike import plain_words

_NUMBER: Final = re.compile(
    r"[+-]?(?:[1-9]\d{0,2}(?:,\d{3})+|\d+)?(?:\.\d*)?(?:[eE][+-]?\d{1,3})?", re.ASCII
)
_LONGEST: Final = 40
_GAPS: Final = re.compile(r"(?<=\d)[\u00a0\u202f ](?=\d{3}(?!\d))", re.ASCII)
_SWAPPED: Final = str.maketrans(",.", ".,")
_YES: Final = frozenset(["yes", "y", "true", "t", "1", "x", "on"])
_NO: Final = frozenset(["no", "n", "false", "f", "0", "off"])
_ISO: Final = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})(?:[T ]00:00(?::00)?)?", re.ASCII)
_PARTS: Final = re.compile(r"(\d{1,2})[/.-](\d{1,2})[/.-](\d{4})(?:[T ]0?0:00(?::00)?)?", re.ASCII)


class DayOrder(StrEnum):
    """In which order days are written that do not begin with the year."""

    MONTH_FIRST = "month-first"
    DAY_FIRST = "day-first"


@dataclass(frozen=True)
class Writing:
    """How numbers and days of a file are written; `is_sure` when somebody or the file said so."""

    has_decimal_comma: bool = False
    is_sure: bool = True
    day_order: DayOrder | None = None


def number_in(text: str, writing: Writing, *, field: str) -> float:
    """Return the number that a text is, thousands marks and decimal comma understood.

    Raises
    ------
    InvalidInputError
        For what is no number, and for 1.234 where nobody said which sign is the decimal one.
    """
    plain = _GAPS.sub("", text.strip().replace("\u2212", "-"))
    by_point, by_comma = _parsed(plain), _parsed(plain.translate(_SWAPPED))
    first, second = (by_comma, by_point) if writing.has_decimal_comma else (by_point, by_comma)
    if None not in (first, second) and first != second and not writing.is_sure:
        raise InvalidInputError(
            f"'{text.strip()}' can be {by_point:,g} or {by_comma:,g}.",
            field=field, code="ambiguous-number",
            remedy="Say in `decimal` which sign stands before the decimals.",
        )  # fmt: skip
    number = second if first is None and not writing.is_sure else first
    if number is None:
        remedy = "Write a number and nothing else, such as 12.5."
        if second is not None:
            remedy = "Say in `decimal` which sign stands before the decimals, or write it so."
        raise InvalidInputError(
            f"'{text.strip()[:_LONGEST]}' is no number.",
            field=field, code="not-a-number", remedy=remedy,
        )  # fmt: skip
    return number


def whole_in(text: str, writing: Writing, *, field: str) -> int:
    """Return the whole number that a text is; 4.0 is 4."""
    number = number_in(text, writing, field=field)
    if not number.is_integer() or abs(number) > 1e9:
        raise InvalidInputError(
            f"{number:g} is no whole number that can be right.",
            field=field, code="not-whole", remedy="Write a whole number.",
        )  # fmt: skip
    return int(number)


def yes_or_no(text: str, *, field: str) -> bool:
    """Return whether a text says yes."""
    word = plain_words(text)
    if word not in _YES | _NO:
        raise InvalidInputError(
            "This is neither yes nor no.",
            field=field, code="not-yes-or-no", remedy="Write yes or no.",
        )  # fmt: skip
    return word in _YES


def day_in(text: str, writing: Writing, *, field: str) -> date:
    """Return the day that a text is: 2026-03-14, or in the order that the office said."""
    if found := _ISO.fullmatch(text.strip()):
        year, month, day = (int(part) for part in found.groups())
    elif writing.day_order and (found := _PARTS.fullmatch(text.strip())):
        first, second, year = (int(part) for part in found.groups())
        is_month_first = writing.day_order is DayOrder.MONTH_FIRST
        month, day = (first, second) if is_month_first else (second, first)
    else:
        raise _no_day(text, field)
    try:
        return date(year, month, day)
    except ValueError as error:
        raise _no_day(text, field) from error


def _no_day(text: str, field: str) -> InvalidInputError:
    return InvalidInputError(
        f"'{text.strip()[:_LONGEST]}' is no day.",
        field=field, code="not-a-day",
        remedy="Write days such as 2026-03-14, or say their order in `day_order`.",
    )  # fmt: skip


def _parsed(text: str) -> float | None:
    if len(text) > _LONGEST or not _NUMBER.fullmatch(text) or not re.search(r"\d", text):
        return None
    if text.lower().lstrip("+-").startswith(("e", ".e")):
        return None
    number = float(text.replace(",", ""))
    return number if math.isfinite(number) else None
