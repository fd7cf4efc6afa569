"""What a column of a spreadsheet can be: the field that it fills, and how people head it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from properties.domain.spreadsheet_alike import plain_words


class Kind(StrEnum):
    """What the rows of a file are; `everything` has customer to zone in one row."""

    CUSTOMERS = "customers"
    PROPERTIES = "properties"
    CONTROLLERS = "controllers"
    ZONES = "zones"
    EVERYTHING = "everything"


PARTS: Final = (Kind.CUSTOMERS, Kind.PROPERTIES, Kind.CONTROLLERS, Kind.ZONES)
"""The kinds of rows, owners before what they own."""

_WORDS: Final[dict[Kind, tuple[str, ...]]] = {
    Kind.CUSTOMERS: ("customer", "client", "account"),
    Kind.PROPERTIES: ("property", "site", "service"),
    Kind.CONTROLLERS: ("controller", "clock", "timer"),
    Kind.ZONES: ("zone", "station", "valve"),
}


class Takes(StrEnum):
    """How a cell of a column is read."""

    TEXT = "text"
    CHOICE = "choice"
    YES_NO = "yes or no"
    WHOLE = "whole number"
    NUMBER = "number"
    MONEY = "amount of money"
    QUANTITY = "quantity"
    DATE = "date"
    MONTHS = "one number, or twelve"
    OWNER = "reference to another row"


@dataclass(frozen=True)
class Column:
    """One column: `name` as the API calls it, `field` as the row does, `heading` as exported.

    `words` are other headings that people use for it, written as `plain_words` leaves them.
    """

    of: Kind
    name: str
    heading: str
    takes: Takes = Takes.TEXT
    words: str = ""
    field: str = ""
    dimension: str = ""
    is_needed: bool = False

    @property
    def row_field(self) -> str:
        return self.field or self.name

    def headings(self) -> set[str]:
        """Return the headings by which the column is known in a file of its own kind."""
        own = {plain_words(self.name), plain_words(self.heading)}
        return own | {words.strip() for words in self.words.split(",") if words.strip()}

    def full_headings(self) -> set[str]:
        """Return the headings by which it is known among columns of other kinds."""
        told = {f"{word} {heading}" for word in _WORDS[self.of] for heading in self.headings()}
        return told | {h for h in self.headings() if h.split()[0] in _WORDS[self.of]}


UNIT_WORDS: Final[dict[str, str]] = {
    plain_words(word): unit
    for unit, words in {
        "ft2": "ft2, sq ft, sqft, square feet, square foot, sf",
        "m2": "m2, sq m, sqm, square metres, square meters, qm",
        "psi": "psi, lb in2, lbs in2",
        "kPa": "kPa, kilopascal",
        "bar": "bar",
        "gpm": "gpm, gal min, gallons per minute, gallons a minute",
        "L/min": "L/min, lpm, litres per minute, liters per minute, l per min",
        "ft": "ft, feet, foot",
        "m": "m, metres, meters, metre, meter",
        "in": "in, inch, inches",
        "mm": "mm, millimetres, millimeters",
        "cm": "cm, centimetres, centimeters",
        "in/h": "in/h, in/hr, iph, inches per hour",
        "mm/h": "mm/h, mm/hr, mm per hour, millimetres per hour",
    }.items()
    for word in words.split(",")
}
"""Units as people write them, in the words of `plain_words`."""


def unit_named(text: str, units: dict[str, object] | set[str]) -> str | None:
    """Return which of a dimension's units a text means, or None."""
    if text in units:
        return text
    unit = UNIT_WORDS.get(plain_words(text.replace("/", " ")))
    return unit if unit in units else None
