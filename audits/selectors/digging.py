"""When holes may be dug, by the notice that the company's region asks for."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Final

from audits.domain.digging import (
    TEXAS_NOTICE,
    DateWindow,
    NoticeRule,
    digging_window,
    notice_window,
)
from properties.models import Company

CAUTIONS: Final = (
    "Marks are approximate: expose the line by hand before a machine digs near it.",
    "The service marks public lines only. Lines behind the meter, sprinkler pipe and wire among "
    "them, are the owner's to find.",
    "In the United States call 811; elsewhere ask the local service.",
    "The hour of the notice holds for the digging too. Local rules may differ.",
)


@dataclass(frozen=True)
class DiggingDates:
    """First and last day to dig after a notice, or to give notice before a digging."""

    window: DateWindow
    rule: NoticeRule
    cautions: tuple[str, ...] = CAUTIONS


def digging_dates(company: Company, notice_date: date) -> DiggingDates:
    """Return the days on which digging may begin after a notice."""
    rule = notice_rule(company)
    return DiggingDates(digging_window(notice_date, _holidays(company), rule), rule)


def notice_dates(company: Company, digging_date: date) -> DiggingDates:
    """Return the days on which to give notice of a digging."""
    rule = notice_rule(company)
    return DiggingDates(notice_window(digging_date, _holidays(company), rule), rule)


def notice_rule(company: Company) -> NoticeRule:
    """Return the rule that the company entered; its source is known if it is the usual one."""
    days = company.digging_business_days, company.digging_longest_days
    if days == (TEXAS_NOTICE.business_days, TEXAS_NOTICE.longest_days):
        return TEXAS_NOTICE
    return NoticeRule(business_days=days[0], longest_days=days[1], source="as the company entered")


def _holidays(company: Company) -> frozenset[date]:
    return frozenset(date.fromisoformat(day) for day in company.holidays)
