"""For whom a watering rule is: by house number, kind of property, way of watering and water."""

from __future__ import annotations

import re
import zoneinfo
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Final

from properties.domain.errors import InvalidInputError
from properties.domain.site import HeadKind


class PropertyClass(StrEnum):
    """What a property is used for, as far as rules tell properties apart."""

    RESIDENTIAL = "residential"
    COMMERCIAL = "commercial"
    PUBLIC = "public"
    SHARED_GROUNDS = "shared_grounds"
    PLAYING_FIELD = "playing_field"


class WaterKind(StrEnum):
    """Where the water comes from."""

    MAINS = "mains"
    RECLAIMED = "reclaimed"
    WELL = "well"


class Method(StrEnum):
    """How water is put out: by one of the kinds of heads, or by what has no zone of its own."""

    SPRAY = HeadKind.SPRAY.value
    ROTARY_NOZZLE = HeadKind.ROTARY_NOZZLE.value
    ROTOR = HeadKind.ROTOR.value
    IMPACT = HeadKind.IMPACT.value
    BUBBLER = HeadKind.BUBBLER.value
    DRIP = HeadKind.DRIP.value
    HOSE_END = HeadKind.HOSE_END.value
    MICRO_SPRAY = "micro_spray"
    HAND = "hand"


class Addresses(StrEnum):
    """Which addresses a rule names."""

    EVERYBODY = "everybody"
    ODD = "odd"
    EVEN = "even"
    DIGITS = "digits"
    NO_NUMBER = "no_number"


NO_NUMBER_MARK: Final = "-"
ALL_DIGITS: Final = frozenset(range(10))
ODD_DIGITS: Final = frozenset(range(1, 10, 2))
EVEN_DIGITS: Final = frozenset(range(0, 10, 2))
# "48", "No. 48", "48A", "48 1/2", "37-12" and "48-50" begin a street line; "5th Avenue" does not.
_LEADING_NUMBER: Final = re.compile(
    r"\s*(?:no\.?\s*|#\s*)?\d{1,6}(?:-(?=\d))?(?:(?<=-)\d{1,6})?(?=[a-z]?(?:[\s,/]|$))",
    re.ASCII | re.IGNORECASE,
)


@dataclass(frozen=True, kw_only=True)
class Place:
    """What a rule asks of an address; no house number where it has none."""

    house_number: int | None
    time_zone: zoneinfo.ZoneInfo
    property_class: PropertyClass = PropertyClass.RESIDENTIAL
    water: WaterKind = WaterKind.MAINS


@dataclass(frozen=True, kw_only=True)
class ZoneUse:
    """What a rule asks of a zone; no planting date where nothing was planted of late."""

    method: Method
    planting_date: date | None = None


@dataclass(frozen=True, kw_only=True)
class Audience:
    """For whom a rule is; an empty set of classes, methods or waters names all of them."""

    last_digits: frozenset[int] = ALL_DIGITS
    takes_no_number: bool = True
    classes: frozenset[PropertyClass] = frozenset()
    only_methods: frozenset[Method] = frozenset()
    exempt_methods: frozenset[Method] = frozenset()
    only_waters: frozenset[WaterKind] = frozenset()
    exempt_waters: frozenset[WaterKind] = frozenset()

    def __post_init__(self) -> None:
        if not self.last_digits <= ALL_DIGITS or not (self.last_digits or self.takes_no_number):
            raise InvalidInputError(
                "No address ends in such a digit.",
                field="last_digits", code="bad-digits", remedy="Give digits from 0 to 9.",
            )  # fmt: skip
        _refuse_nobody(self.only_methods, self.exempt_methods, "exempt_methods")
        _refuse_nobody(self.only_waters, self.exempt_waters, "exempt_waters")

    def names_numbers(self) -> bool:
        """Return whether the house number matters to this rule."""
        return self.last_digits != ALL_DIGITS or not self.takes_no_number

    def has(self, place: Place, use: ZoneUse) -> bool:
        """Return whether a zone at a place is among those for whom the rule is."""
        return self.has_number(place) and self.has_apart_from_number(place, use)

    def has_number(self, place: Place) -> bool:
        """Return whether the address is among those that the rule names."""
        if place.house_number is None:
            return self.takes_no_number
        return place.house_number % 10 in self.last_digits

    def has_apart_from_number(self, place: Place, use: ZoneUse) -> bool:
        """Return whether everything but the house number fits."""
        return (
            _names(self.classes, place.property_class)
            and _names(self.only_methods, use.method)
            and _names(self.only_waters, place.water)
            and use.method not in self.exempt_methods
            and place.water not in self.exempt_waters
        )


def house_number_of(street: str) -> int | None:
    """Return the house number with which a street line begins, or None where it has none.

    Of two numbers with a dash the last counts: its last digit is that of the address.
    """
    found = _LEADING_NUMBER.match(street)
    return int(re.findall(r"\d+", found[0])[-1]) if found else None


def house_number_at(entered: str, street: str) -> int | None:
    """Return the house number by which rules go, or None where the address has none.

    Parameters
    ----------
    entered : a number, a dash for none, or empty to read it from the street.
    street : the street line.
    """
    if entered == NO_NUMBER_MARK:
        return None
    return int(entered) if entered else house_number_of(street)


def digits_of(addresses: Addresses, text: str) -> frozenset[int]:
    """Return the last digits that a rule names.

    Parameters
    ----------
    addresses : which addresses.
    text : of `DIGITS` alone: digits and ranges such as "0-3" or "0-1, 8".

    Raises
    ------
    InvalidInputError
        Naming `last_digits`, for a text without digits, or digits beside another choice.
    """
    known = {
        Addresses.EVERYBODY: ALL_DIGITS,
        Addresses.ODD: ODD_DIGITS,
        Addresses.EVEN: EVEN_DIGITS,
        Addresses.NO_NUMBER: frozenset[int](),
    }
    if addresses is Addresses.DIGITS:
        return _parsed_digits(text)
    if text:
        raise InvalidInputError(
            "Last digits are given beside another choice of addresses.",
            field="last_digits", code="bad-digits",
            remedy='Choose the addresses "digits", or leave the last digits empty.',
        )  # fmt: skip
    return known[addresses]


def _parsed_digits(text: str) -> frozenset[int]:
    digits: set[int] = set()
    for part in text.replace(" ", "").split(","):
        found = re.fullmatch(r"(\d)(?:-(\d))?", part, re.ASCII)
        if found is None or int(found[1]) > int(found[2] or found[1]):
            raise InvalidInputError(
                f"'{text}' names no last digits.",
                field="last_digits", code="bad-digits",
                remedy="Write digits and ranges from 0 to 9, such as 0-3 or 0, 1, 8.",
            )  # fmt: skip
        digits |= set(range(int(found[1]), int(found[2] or found[1]) + 1))
    return frozenset(digits)


def _names(named: frozenset[StrEnum], word: StrEnum) -> bool:
    return not named or word in named


def _refuse_nobody(only: frozenset[StrEnum], exempt: frozenset[StrEnum], field: str) -> None:
    if only and only <= exempt:
        raise InvalidInputError(
            "All that the rule is for is exempt from it.",
            field=field, code="rule-for-nobody", remedy="Name a kind here or there, not in both.",
        )  # fmt: skip
