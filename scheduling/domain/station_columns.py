"""Arrays of bytes to arrays of numbers: what the readers of whole blocks have in common."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

Bytes = NDArray[np.uint8]
Numbers = NDArray[np.int64]
Mask = NDArray[np.bool_]

NEWLINE, COMMA, QUOTE, MINUS, POINT, BLANK, RETURN = (ord(char) for char in '\n,"-. \r')
MISSING: Final = -9999
CODE_CHARS: Final = 11
ROOM: Final = 300
"""Bytes behind the last line, so that a window may begin anywhere; a month line has 269."""

_ZERO: Final = ord("0")
_MONTH_DAYS: Final = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
_DAYS_BEFORE: Final = np.concatenate([[0], np.cumsum(_MONTH_DAYS)])
_IS_CODE_CHAR: Final = np.zeros(256, dtype=bool)
_IS_CODE_CHAR[list(b"ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789")] = True


def lines_of(block: bytes) -> tuple[Bytes, Numbers, Numbers]:
    """Return the bytes with room behind them, and where lines begin and end."""
    buffer = np.frombuffer(block + bytes(ROOM), dtype=np.uint8)
    ends = np.flatnonzero(buffer == NEWLINE)
    return buffer, np.concatenate([[0], ends[:-1] + 1]), ends


def windows(buffer: Bytes, starts: Numbers, size: int) -> Bytes:
    """Return `size` bytes from each start, a row each."""
    found: Bytes = sliding_window_view(buffer, size)[starts]
    return found


def is_code(text: Bytes) -> Mask:
    """Tell which rows are capital letters and digits alone."""
    return np.asarray(_IS_CODE_CHAR[text].all(axis=1))


def codes_of(text: Bytes) -> Any:
    """Return the station codes that rows of bytes write."""
    return np.ascontiguousarray(text).view(f"S{CODE_CHARS}").reshape(-1)


def number(text: Bytes) -> Numbers:
    """Return the whole number that columns of digits write, or -1 where one is no digit."""
    digits = text.astype(np.int64) - _ZERO
    value = digits @ (10 ** np.arange(text.shape[1])[::-1])
    return np.where(((digits < 0) | (digits > 9)).any(axis=1), -1, value)


def amounts_of_size(text: Bytes, size: Numbers, most_digits: int) -> tuple[Numbers, Mask]:
    """Read numbers that stand at the left, `size` characters long; also return where they do."""
    value = np.zeros(len(text), dtype=np.int64)
    is_negative = text[:, 0] == MINUS
    digits = size - is_negative
    is_number = (digits >= 1) & (digits <= most_digits)
    for column in range(text.shape[1]):
        digit = text[:, column].astype(np.int64) - _ZERO
        is_used = (column < size) & ~(is_negative & (column == 0))
        is_number &= ~is_used | ((digit >= 0) & (digit <= 9))
        value = np.where(is_used, value * 10 + digit, value)
    return np.where(is_negative, -value, value), is_number


def amounts_right_aligned(text: Bytes) -> tuple[Numbers, Numbers, Mask]:
    """Read numbers that end where their columns end: blanks, perhaps a minus, then digits.

    Returns
    -------
    The digits as a whole number, how many of them stand behind a decimal point, and where that is
    a number at all.
    """
    shape = text.shape[:-1]
    value, decimals = np.zeros(shape, dtype=np.int64), np.zeros(shape, dtype=np.int64)
    is_negative, is_begun, is_pointed = (np.zeros(shape, dtype=bool) for _ in range(3))
    is_number, is_digit = np.ones(shape, dtype=bool), np.zeros(shape, dtype=bool)
    for column in range(text.shape[-1]):
        char = text[..., column]
        digit = char.astype(np.int64) - _ZERO
        is_digit = (digit >= 0) & (digit <= 9)
        is_minus = (char == MINUS) & ~is_begun
        is_point = (char == POINT) & ~is_pointed
        is_number &= is_digit | is_minus | is_point | ((char == BLANK) & ~is_begun)
        decimals += is_digit & is_pointed
        is_negative |= is_minus
        is_pointed |= is_point
        is_begun |= is_digit | is_minus | is_point
        value = np.where(is_digit, value * 10 + digit, value)
    return np.where(is_negative, -value, value), decimals, is_number & is_digit


def month_days(year: Numbers, month: Numbers) -> Numbers:
    """Return how many days each month has."""
    days: Numbers = _MONTH_DAYS[month - 1] + ((month == 2) & _is_leap(year))
    return days


def days_before(year: Numbers, month: Numbers) -> Numbers:
    """Return how many days of the year are over when each month begins."""
    days: Numbers = _DAYS_BEFORE[month - 1] + ((month > 2) & _is_leap(year))
    return days


def lines_left(count: int, read: Numbers) -> list[int]:
    """Return the places of the lines that were not read."""
    is_left = np.ones(count, dtype=bool)
    is_left[read] = False
    return np.flatnonzero(is_left).tolist()


def _is_leap(year: Numbers) -> Mask:
    is_leap: Mask = ((year % 4 == 0) & (year % 100 != 0)) | (year % 400 == 0)
    return is_leap
