"""The letter of a notice: what was frozen, and who reads it."""

from __future__ import annotations

from properties.domain.units import System
from properties.selectors.company import the_company
from reports.domain.letters import Letter
from scheduling.domain.notice_content import content_of
from scheduling.models import Notice


def letter_of(notice: Notice, *, stop_url: str = "") -> Letter:
    """Return what a notice says to its reader."""
    company = the_company()
    return Letter(
        content=content_of(notice.content),
        company_name=company.name,
        contact_line=company.contact_line,
        greeting=f"Dear {_name(notice)},",
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
    if notice.customer is None:
        return "You get this because you work here."
    about = f" for {', '.join(notice.property.address_lines())}" if notice.property else ""
    return f"You get this because you agreed to watering notices{about}."
