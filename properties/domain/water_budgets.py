"""The words for what a district grants a landscape."""

from __future__ import annotations

from enum import StrEnum


class BudgetSpan(StrEnum):
    """Of which time an allowance is: a whole year, or the month of the greatest ET0."""

    YEAR = "year"
    PEAK_MONTH = "peak_month"
