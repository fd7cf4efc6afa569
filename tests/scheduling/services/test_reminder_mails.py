"""Whom the mails of reminders reach, and what never stands in them."""

from __future__ import annotations

import datetime as dt

import pytest

from properties.models import Customer
from scheduling.domain.notice_content import content_of
from tests import cast
from tests.scheduling.services.reminder_looks import look, mails, make_agreement_garden, noon

pytestmark = pytest.mark.django_db
DAY = dt.timedelta(days=1)
DUE = cast.TODAY + 14 * DAY  # of what a ticket of today asks for


@pytest.fixture
def garden(company):
    return make_agreement_garden()


def test_each_office_user_gets_one_mail_a_day_and_none_when_there_is_nothing(garden, office):
    cast.make_office("second@meadowlark.example")
    left = cast.make_office("left@meadowlark.example")
    left.is_active = False
    left.save()

    look(noon(DUE - DAY))
    assert mails(staff__isnull=False) == []
    look(noon(DUE))
    look(noon(DUE + DAY))

    sent = mails(staff__isnull=False)
    assert len(sent) == 2
    assert left not in {mail.staff for mail in sent}
    content = content_of(sent[0].content)
    assert content.sections[0].paragraphs == (
        "Garden of Ingrid Holm: nobody has agreed yet to what was proposed on June 10, 2026: "
        "leaning head.",
    )


def test_no_mail_tells_how_to_get_in_or_of_another_client(company, technician, office):
    secrets = {"access_notes": "gate code 4711", "animals": "dog Rex"}
    for number in range(2):
        garden = make_agreement_garden(f"Client {number}", **secrets)
        Customer.objects.filter(pk=garden.customer_id).update(phone="555-0100")
        cast.make_visit(garden, technician, planned_date=DUE + DAY)

    look(noon(DUE))

    told = mails(customer__isnull=False)
    assert len(told) == 4
    for mail in told:
        others = Customer.objects.exclude(pk=mail.customer_id).get()
        assert others.name not in str(mail.content)
        assert technician.name not in str(mail.content)
    for mail in mails():
        assert not any(each in str(mail.content) for each in ("4711", "Rex", "555-0100"))
