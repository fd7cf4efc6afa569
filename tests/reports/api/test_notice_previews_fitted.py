"""The preview of fitted programs is what is then sent: words, page, sheet and calendar."""

from __future__ import annotations

import base64
import re
from io import BytesIO

import pytest
from django.core import mail
from django.utils import timezone
from icalendar import Calendar
from pypdf import PdfReader

from properties.models import Customer, Property
from properties.services import jobs
from reports.services import notice_previews
from scheduling.models import Notice
from scheduling.services import monthly_notices
from tests import cast
from tests.reports.services.notice_mail import state
from tests.scheduling.program_rows import run_fit
from tests.scheduling.services.test_monthly_notices import make_garden
from tests.scheduling.services.test_monthly_programs import record

SHEETS = {"us": (612, 792), "metric": (595, 842)}  # Letter and A4 [pt]


@pytest.fixture(params=["us", "metric"])
def units(request):
    return request.param


@pytest.fixture
def garden(company, station, units):
    """A garden whose controller is fitted, found set otherwise, and whose client reads in units."""
    garden = make_garden("Ingrid Holm")
    Customer.objects.update(units=units)
    controller = garden.controllers.get()
    run_fit(controller)
    record(controller, seasonal_percent=70)
    return Property.objects.get()


def preview(api, garden):
    return api.get(f"/api/v1/properties/{garden.pk}/notice-preview").json()


def work(now) -> None:
    while due := jobs.due_job_ids(now=now):
        for job_id in due:
            jobs.run_job(job_id, now=now)


def source(message) -> str:
    """The whole message as it goes over the wire, but for its date and boundaries."""
    text = message.message().as_string()
    boundaries = dict.fromkeys(re.findall(r'boundary="([^"]+)"', text))
    for number, boundary in enumerate(boundaries):
        text = text.replace(boundary, f"boundary-{number}")
    return re.sub(r"(?m)^(Date|Message-ID): .*$", "", text)


def test_byte_for_byte_it_is_what_is_sent_later(office_api, garden, units):
    shown = preview(office_api, garden)
    assert "PROGRAM A" in shown["text"]

    now = timezone.now()
    monthly_notices.ask_for_monthly_notices(now=now)
    work(now)

    (sent,) = mail.outbox
    files = {name: content for name, content, _ in sent.attachments}
    assert shown["subject"] == sent.subject
    assert shown["text"] == sent.body
    assert shown["html"] == sent.alternatives[0].content
    assert base64.b64decode(shown["pdf"]) == files["watering.pdf"]
    assert shown["calendar"] == files["watering.ics"]
    page = PdfReader(BytesIO(files["watering.pdf"])).pages[0]
    assert tuple(round(side) for side in page.mediabox[2:]) == SHEETS[units]
    assert ("05:00" in shown["text"]) == (units == "metric")
    assert ("5:00\u00a0AM" in shown["html"]) == (units == "us")


def test_the_sheet_says_what_the_mail_says(office_api, garden):
    shown = preview(office_api, garden)

    pages = PdfReader(BytesIO(base64.b64decode(shown["pdf"]))).pages
    sheet = re.sub(r"\s+", "", "".join(page.extract_text() for page in pages))
    cells = re.findall(r"<td[^>]*>([^<]*)</td>", shown["html"])
    assert len(cells) >= 6
    for cell in cells:
        assert re.sub(r"\s+", "", cell) in sheet
        assert " ".join(cell.split()) in " ".join(shown["text"].split())


def test_the_calendar_names_the_day_and_the_place(office_api, garden):
    (entry,) = Calendar.from_ical(preview(office_api, garden)["calendar"]).walk("VEVENT")

    assert entry["dtstart"].dt == cast.TODAY  # a first notice in the middle of its month
    assert entry["summary"] == "Set the sprinklers for June"
    assert entry["uid"] == f"{garden.pk}-2026-06"


def test_the_message_is_the_same_to_the_last_header(garden):
    """All of the message, but for the id that it gets when it is queued."""
    now = timezone.now()
    seen = []
    real = notice_previews.mail_of

    def keep(*arguments, **words):
        seen.append(real(*arguments, **words))
        return seen[-1]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(notice_previews, "mail_of", keep)
        notice_previews.preview_monthly(garden, None, now=now)
    monthly_notices.ask_for_monthly_notices(now=now)
    work(now)

    assert source(seen[0]) == source(mail.outbox[0])


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"wants_notices": False}, "no-consent"),
        ({"wants_notices": False, "unsubscribed_at": cast.NOW}, "unsubscribed"),
        ({"email": ""}, "no-address"),
        ({"email": "ingrid at holm"}, "broken-address"),
    ],
)
def test_what_changes_between_queue_and_send_keeps_it_back(office_api, garden, changes, code):
    now = timezone.now()
    notice = monthly_notices.monthly_notice_of(garden, None, now=now)
    Customer.objects.update(**changes)

    shown = preview(office_api, garden)
    work(now)

    assert mail.outbox == []
    assert state(notice) == "held"
    assert notice.reason["code"] == code
    assert notice.reason["detail"] == shown["why_not"]
    seen = office_api.get(f"/api/v1/notices/{notice.pk}").json()
    assert (seen["state"], seen["reason"]["code"]) == ("held", code)
    assert Notice.objects.count() == 1
