"""A notice as a mail message: text, HTML, the sheet and a calendar file."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from email.utils import formataddr, parseaddr

from django.conf import settings
from django.core.mail import EmailMultiAlternatives
from icalendar import Calendar, Event

from reports.domain.letters import Letter, letter_html, letter_text
from scheduling.domain.notice_content import CalendarEntry
from scheduling.models import Notice

CALENDAR_NAME = "watering.ics"
SHEET_NAME = "watering.pdf"


def message_of(
    notice: Notice, letter: Letter, *, address: str, sheet: bytes | None
) -> EmailMultiAlternatives:
    """Return the message; the same notice gives the same one, but for its date and boundaries."""
    message = EmailMultiAlternatives(
        subject=letter.content.subject,
        body=letter_text(letter),
        from_email=_sender(letter.company_name),
        to=[address],
        headers=_headers(notice, letter),
    )
    message.attach_alternative(letter_html(letter), "text/html")
    if sheet is not None:
        message.attach(SHEET_NAME, sheet, "application/pdf")
    if letter.content.calendar:
        calendar = calendar_file(letter.content.calendar, made_at=_day_of(notice.created_at))
        message.attach(CALENDAR_NAME, calendar, "text/calendar")
    return message


def _day_of(moment: datetime) -> datetime:
    """Return the beginning of a day: a preview of the same day has the same file."""
    return moment.replace(hour=0, minute=0, second=0, microsecond=0)


def calendar_file(entries: Sequence[CalendarEntry], *, made_at: datetime) -> bytes:
    """Return all-day entries as an iCalendar file (RFC 5545)."""
    calendar = Calendar()
    calendar.add("prodid", "-//zone keeping//notices//EN")
    calendar.add("version", "2.0")
    for entry in entries:
        event = Event()
        event.add("uid", entry.uid)
        event.add("dtstamp", made_at)
        event.add("dtstart", entry.date)
        event.add("summary", entry.summary)
        if entry.description:
            event.add("description", entry.description)
        event.add("transp", "TRANSPARENT")
        calendar.add_component(event)
    content: bytes = calendar.to_ical()
    return content


def _sender(company_name: str) -> str:
    _, address = parseaddr(settings.DEFAULT_FROM_EMAIL)
    return formataddr((" ".join(company_name.split()), address))  # a header is one line


def _headers(notice: Notice, letter: Letter) -> dict[str, str]:
    headers = {"Message-ID": notice.message_id, "Auto-Submitted": "auto-generated"}
    if letter.stop_url:
        headers["List-Unsubscribe"] = f"<{letter.stop_url}>"
        headers["List-Unsubscribe-Post"] = "List-Unsubscribe=One-Click"  # RFC 8058
    return headers
