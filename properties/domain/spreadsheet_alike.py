"""When two addresses, or two contacts, are most likely the same one written differently."""

from __future__ import annotations

import re
import unicodedata
from typing import Final

# The usual short forms of street words and directions in US addresses (common practice). "st"
# stands for saint too: both sides are shortened alike, so that no two addresses come apart by it.
_SHORT: Final[dict[str, str]] = {
    long: words.split()[0]
    for words in (
        "st street saint str", "ave avenue av", "rd road", "dr drive drv", "ln lane",
        "ct court crt", "blvd boulevard boul", "pl place", "cir circle circ",
        "ter terrace terr", "pkwy parkway",
        "hwy highway", "sq square", "trl trail", "xing crossing", "cv cove", "pt point",
        "mt mount", "ft fort", "hts heights", "n north", "s south", "e east", "w west",
        "ne northeast", "nw northwest", "se southeast", "sw southwest",
        "unit apartment apt suite ste no number",
    )
    for long in words.split()
}  # fmt: skip
_LEAST_PHONE_DIGITS: Final = 7
_US_PHONE_DIGITS: Final = 11  # with the 1 of the country


def plain_words(text: str) -> str:
    """Return text without case, accents and punctuation, its words one space apart."""
    unmarked = unicodedata.normalize(
        "NFKD", text.replace("#", " number ").replace("%", " percent ")
    )
    letters = "".join(char for char in unmarked if not unicodedata.combining(char)).casefold()
    return " ".join(re.findall(r"[^\W_]+", letters))


def address_key(street: str, city: str) -> str:
    """Return what two spellings of one address have in common; empty without street or city."""
    words = plain_words(street.replace("'", "").replace(".", " ")).split()
    town = plain_words(city.replace("'", "")).split()
    if not words or not town:
        return ""
    shortened = [" ".join(_SHORT.get(word, word) for word in part) for part in (words, town)]
    return "|".join(shortened)


def mail_key(address: str) -> str:
    """Return an e-mail address without the case of its letters."""
    return address.strip().casefold()


def phone_key(number: str) -> str:
    """Return the digits of a telephone number, without the 1 or 00 before; empty if too few."""
    digits = "".join(re.findall(r"[0-9]", number)).removeprefix("00")
    if len(digits) == _US_PHONE_DIGITS:
        digits = digits.removeprefix("1")
    return digits if len(digits) >= _LEAST_PHONE_DIGITS else ""
