"""The letter of a notice: what was frozen, and who reads it."""

from __future__ import annotations

from properties.domain.units import System
from properties.selectors.company import the_company
from reports.domain.letters import Letter
from scheduling.domain.notice_content import content_of
from scheduling.domain.notice_words import notice_words
from scheduling.models import Notice


def letter_of(notice: Notice, *, stop_url: str = "") -> Letter:
    """Return what a notice says to its reader."""
    company = the_company()
    return Letter(
        content=content_of(notice.content),
        company_name=company.name,
        contact_line=company.contact_line,
        greeting=notice_words(notice.language).letter.greeting.format(name=_name(notice)),
        why=_why(notice),
        stop_url=stop_url,
        language=notice.language,
    )


def units_of(notice: Notice) -> System:
    """Return the units of the reader, which decide on the paper too."""
    own = notice.customer.units if notice.customer else ""
    return "metric" if (own or the_company().units) == "metric" else "us"


def _name(notice: Notice) -> str:
    person = notice.customer or notice.staff
    return person.name if person else ""


def _why(notice: Notice) -> str:
    words = notice_words(notice.language).letter
    if notice.customer is None:
        return words.why_staff
    if notice.property is None:
        return words.why
    return words.why_of_place.format(address=", ".join(notice.property.address_lines()))
