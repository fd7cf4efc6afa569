"""The life of a notice."""

from __future__ import annotations

import datetime as dt

import pytest
from django.db import IntegrityError, transaction

from properties.domain.errors import InvalidInputError, RefusedError
from properties.models import Event
from scheduling.domain.notice_content import NoticeContent, content_of
from scheduling.models import MailDay, Notice
from scheduling.services import notices
from scheduling.services.notices import NoticeDraft, queue_notices
from scheduling.signals import notices_queued
from tests import cast

pytestmark = pytest.mark.django_db
LATER = cast.NOW + dt.timedelta(minutes=5)
CONTENT = NoticeContent("Water less", "It gets cooler.")


@pytest.fixture
def told():
    """The ids that whoever renders was told of."""
    heard: list = []

    def hear(sender, notice_ids, now, **_):
        heard.extend(notice_ids)

    notices_queued.connect(hear)
    yield heard
    notices_queued.disconnect(hear)


@pytest.fixture
def customer(company):
    return cast.make_customer()


def draft(customer, key="monthly:1", **changes):
    words = {"kind": "monthly", "content": CONTENT, "customer_id": customer.pk, **changes}
    return NoticeDraft(key=key, **words)


def queued(customer, **changes) -> Notice:
    queue_notices([draft(customer, **changes)], now=cast.NOW)
    return Notice.objects.get()


def test_what_is_queued_is_frozen_and_told_on(customer, told):
    notice = queued(customer, period=dt.date(2026, 7, 1))

    assert content_of(notice.content) == CONTENT
    assert notice.content_digest == CONTENT.digest()
    assert (notice.state, notice.attempts, notice.period) == ("queued", 0, dt.date(2026, 7, 1))
    assert notice.message_id == f"<{notice.pk}@localhost>"
    assert told == [notice.pk]


def test_the_same_key_is_queued_once_whoever_asks(customer, told):
    assert queue_notices([draft(customer), draft(customer, "monthly:2")], now=cast.NOW) == 2
    assert queue_notices([draft(customer), draft(customer, "monthly:3")], now=LATER) == 1

    assert Notice.objects.count() == len(told) == 3


def test_a_key_twice_in_one_batch_is_one_notice(customer, told):
    assert queue_notices([draft(customer), draft(customer)], now=cast.NOW) == 1
    assert len(told) == 1


def test_a_process_that_dies_leaves_whole_batches(customer, told, monkeypatch):
    monkeypatch.setattr(notices, "BATCH", 2)

    def drafts():
        for number in range(3):
            yield draft(customer, f"monthly:{number}")
        raise MemoryError

    with pytest.raises(MemoryError):
        queue_notices(drafts(), now=cast.NOW)

    assert sorted(Notice.objects.values_list("key", flat=True)) == ["monthly:0", "monthly:1"]
    assert queue_notices((draft(customer, f"monthly:{n}") for n in range(5)), now=LATER) == 3


def test_many_are_queued_in_few_queries(customer, django_assert_max_num_queries):
    with django_assert_max_num_queries(40):  # SQLite takes some 50 rows at once
        queue_notices((draft(customer, f"monthly:{n}") for n in range(400)), now=cast.NOW)

    assert Notice.objects.count() == 400


def test_a_notice_goes_to_one_person(customer, office):
    stored = Notice.objects.filter(pk=queued(customer).pk)
    for people in ({"customer_id": None}, {"staff_id": office.pk}):
        with pytest.raises(InvalidInputError, match="or to a colleague"):
            draft(customer, **people)
        with pytest.raises(IntegrityError), transaction.atomic():
            stored.update(**people)


def test_sent_is_sent_once(customer):
    notice = queued(customer)

    assert notices.begin_sending(notice, now=cast.NOW)
    assert (notice.state, notice.attempts, notice.may_be_twice) == ("sending", 1, False)
    assert notices.mark_sent(notice, sheet_sha256="ab", now=LATER)

    assert (notice.state, notice.sent_at, notice.sheet_sha256) == ("sent", LATER, "ab")
    assert not notices.begin_sending(notice, now=LATER)
    assert not notices.hold(notice, code="x", detail="", now=LATER)
    assert not notices.mark_failed(notice, code="x", detail="", now=LATER)


def test_of_two_that_read_it_one_sends(customer):
    notice = queued(customer)
    other = Notice.objects.get()

    assert notices.begin_sending(notice, now=cast.NOW)
    assert not notices.begin_sending(other, now=cast.NOW)


def test_a_sender_that_died_is_seen(customer):
    notices.begin_sending(queued(customer), now=cast.NOW)
    found = Notice.objects.get()

    assert notices.begin_sending(found, now=LATER)

    assert (found.state, found.attempts, found.may_be_twice) == ("sending", 2, True)
    notices.mark_failed(found, code="smtp", detail="Later.", now=LATER)
    assert found.may_be_twice


def test_after_the_last_attempt_it_is_given_up_and_the_reason_stays(customer, settings):
    settings.NOTICE_ATTEMPTS = 3
    notice = queued(customer)
    states = []
    for _ in range(3):
        notices.begin_sending(notice, now=cast.NOW)
        notices.mark_failed(notice, code="smtp", detail="Greylisted.", now=LATER)
        states.append(notice.state)

    assert states == ["queued", "queued", "parked"]
    assert notice.reason == {"code": "smtp", "detail": "Greylisted."}
    assert not notice.may_be_twice
    assert not notices.begin_sending(notice, now=LATER)


@pytest.mark.parametrize("end", ["held", "parked"])
def test_the_office_can_have_it_tried_again(customer, office, told, settings, end):
    settings.NOTICE_ATTEMPTS = 1
    notice = queued(customer)
    if end == "held":
        notices.hold(notice, code="no-address", detail="No address.", now=cast.NOW)
    else:
        notices.begin_sending(notice, now=cast.NOW)
        notices.mark_failed(notice, code="smtp", detail="", now=cast.NOW)
    assert notice.state == end

    again = notices.try_again(notice, actor=office, now=LATER)

    assert (again.state, again.attempts, again.reason) == ("queued", 0, {})
    assert told == [notice.pk, notice.pk]
    event = Event.objects.get(subject_id=notice.pk)
    assert (event.act, event.actor, event.before["state"]) == ("tried again", office, end)
    with pytest.raises(RefusedError, match="held back or given up"):
        notices.try_again(again, actor=office, now=LATER)


def test_the_quota_of_a_day_is_taken_to_the_last_one(db, settings):
    settings.NOTICES_A_DAY = 2
    today, tomorrow = cast.NOW.date(), cast.NOW.date() + dt.timedelta(days=1)

    assert [notices.take_of_quota(today) for _ in range(4)] == [True, True, False, False]
    assert notices.take_of_quota(tomorrow)
    assert MailDay.objects.get(date=today).taken == 2
