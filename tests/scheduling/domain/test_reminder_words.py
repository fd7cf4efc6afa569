"""What readers of reminders hear."""

from __future__ import annotations

import datetime as dt
import uuid
from dataclasses import replace

import pytest

from scheduling.domain.reminder_digest import MOST_LINES, digest_content
from scheduling.domain.reminder_rules import ALLOWED, Audience, ReminderKind
from scheduling.domain.reminder_words import (
    Cause,
    LineFacts,
    VisitLine,
    in_full,
    reminder_line,
    reminder_mail,
)
from scheduling.domain.weather_words import FrostAhead, HardFrostAhead

OFFICE = Audience.OFFICE
DUE, SINCE = dt.date(2026, 10, 15), dt.date(2025, 9, 3)
MAILS = [
    (kind, audience)
    for kind in ReminderKind
    for audience in sorted(ALLOWED[kind])
    if audience is not Audience.OFFICE
]


def cause(kind, **changes):
    values = {"due_date": DUE, "whose": "Holm garden", "what": "something", "since": SINCE}
    return Cause(kind=kind, key=f"{kind}:1:{DUE}", **{**values, **changes})


def mail(of_cause, audience=Audience.CLIENT, system="us", *, today=DUE):
    return reminder_mail(of_cause, audience, system, today=today)


def words_of(content):
    sections = [text for each in content.sections for text in (each.heading, *each.paragraphs)]
    return "\n".join([content.subject, content.summary, *sections])


@pytest.mark.parametrize(("kind", "audience"), MAILS)
def test_each_mail_has_a_subject_a_reason_and_something_to_do(kind, audience):
    frosts = (FrostAhead(DUE, 1.0, 3.0, 1),) if kind is ReminderKind.FROST else ()

    content = mail(cause(kind, frosts=frosts), audience)

    assert content.summary.endswith(".")
    assert content.sections[0].paragraphs
    assert "{" not in words_of(content)
    assert content.has_sheet is False


@pytest.mark.parametrize("kind", ReminderKind)
def test_each_kind_is_one_sentence_in_the_list(kind):
    line = reminder_line(LineFacts(kind, "Holm garden", "something", DUE, SINCE), "metric")

    assert line.startswith("Holm garden: ")
    assert "{" not in line


def test_the_reader_has_his_own_way_of_dates():
    assert in_full(DUE, "us") == "October 15, 2026"
    assert in_full(DUE, "metric") == "15 October 2026"


def test_a_name_with_braces_or_a_line_end_stays_a_name():
    content = mail(cause(ReminderKind.APPOINTMENT, whose="{since}\n" + "x" * 200))

    assert content.subject.startswith("We come on October 15: {since} xxx")
    assert len(content.subject) == 120


def test_an_appointment_is_for_the_calendar_and_says_that_somebody_is_to_be_home():
    visit = cause(ReminderKind.APPOINTMENT, what="audit", must_be_home=True)

    content = mail(visit)

    (entry,) = content.calendar
    assert (entry.date, entry.summary) == (DUE, "Sprinkler visit (audit)")
    assert content.sections[0].paragraphs[0].startswith("Somebody should be at home")
    assert "at home" not in words_of(mail(replace(visit, must_be_home=False)))


def test_a_visit_that_moves_keeps_its_entry_in_the_calendar():
    visit = {"visit": uuid.UUID(int=7)}
    uids = {
        mail(cause(ReminderKind.APPOINTMENT, subject=visit, due_date=date), today=SINCE)
        .calendar[0].uid
        for date in (DUE, SINCE)
    }  # fmt: skip

    assert uids == {f"appointment:{visit['visit']}:client"}


def test_an_open_agreement_has_no_date_to_keep():
    assert mail(cause(ReminderKind.AGREEMENT)).calendar == ()


def test_both_frosts_are_told_in_the_readers_units():
    hard = HardFrostAhead(DUE + dt.timedelta(days=3), -4.0, -2.0, 1)
    frosts = (FrostAhead(DUE, 1.0, 3.0, 2), hard)

    for system, cold in (("us", "34 °F"), ("metric", "1 °C")):
        content = mail(
            cause(ReminderKind.FROST, due_date=hard.first_date, frosts=frosts), system=system
        )
        assert cold in content.summary
        assert "a hard frost" in content.sections[0].paragraphs[0]
        assert [entry.date for entry in content.calendar] == [DUE]


@pytest.mark.parametrize(("ahead", "entries"), [(-1, 1), (0, 1), (1, 0)])
def test_a_date_that_is_gone_by_is_not_for_the_calendar(ahead, entries):
    content = mail(cause(ReminderKind.BACKFLOW_TEST), today=DUE + dt.timedelta(days=ahead))

    assert len(content.calendar) == entries


def test_the_visits_of_a_day_stand_in_a_table():
    visits = (VisitLine("Audit", "Holm garden", "48 Kiln Street, Tallgrass"),)

    content = mail(cause(ReminderKind.VISITS_TOMORROW, visits=visits), Audience.TECHNICIAN)

    assert content.sections[0].table.rows == (("Audit", "Holm garden", visits[0].address),)


def lines(count):
    return [
        LineFacts(kind, f"Garden {number}", "x", DUE, SINCE)
        for number in range(count)
        for kind in [(ReminderKind.AUDIT_AGE, ReminderKind.LICENCE)[number % 2]]
    ]


def test_the_digest_is_sorted_by_kind():
    content = digest_content(lines(4), count=4, still_open=9, system="us")

    assert content.subject == "Reminders: 4 today, 9 open"
    assert [each.heading for each in content.sections] == [
        "Licences", "Audits due by age", "The list",
    ]  # fmt: skip
    assert len(content.sections[0].paragraphs) == 2


def test_a_long_digest_says_how_many_it_leaves_to_the_list():
    content = digest_content(lines(MOST_LINES), count=MOST_LINES + 20, still_open=500, system="us")

    shown = sum(len(each.paragraphs) for each in content.sections[:-1])
    assert shown == MOST_LINES
    assert "20 more stand in the list" in content.summary


@pytest.mark.parametrize("kind", [kind for kind in ReminderKind if OFFICE in ALLOWED[kind]])
def test_a_single_thing_is_told_as_one(kind):
    line = LineFacts(kind, "Holm garden", "x", DUE, SINCE)

    content = digest_content([line], count=1, still_open=1, system="us")

    assert content.summary == "There is one thing to see to."
    assert [len(each.paragraphs) for each in content.sections] == [1, 1]
