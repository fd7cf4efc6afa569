"""The daily look: each local day once, whatever dies, at a cost that does not grow by the row."""

from __future__ import annotations

import datetime as dt
from zoneinfo import ZoneInfo

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from properties.models import Job
from scheduling.domain.notice_content import NoticeContent, content_of
from scheduling.domain.reminder_rules import ReminderKind
from scheduling.models import ControllerProgram, Notice, Reminder, ReminderDay, ReminderRule
from scheduling.selectors import reminder_batches
from scheduling.services import reminder_looks, reminder_upkeep
from scheduling.services.job_kinds import REMINDERS
from scheduling.services.notices import NoticeDraft, queue_notices
from scheduling.services.plans import store_plans
from scheduling.services.reminder_looks import ask_for_reminders, end_look, look_for_reminders
from scheduling.services.reminder_rules import rules
from scheduling.services.reminders import resume, snooze, stop
from tests import cast
from tests.scheduling.services.reminder_looks import (
    live,
    look,
    mails,
    make_agreement_garden,
    noon,
)
from tests.scheduling.weather_rows import make_forecast

pytestmark = pytest.mark.django_db
DAY = dt.timedelta(days=1)
DUE = cast.TODAY + 14 * DAY  # of what a ticket of today asks for
HOUR = dt.timedelta(hours=1)


class WorkerDied(BaseException):
    """Stands for kill -9: no handler of exceptions sees it."""


@pytest.fixture
def garden(company):
    return make_agreement_garden()


def of_clients():
    return mails(customer__isnull=False)


def test_the_tick_asks_once_a_date_from_its_hour_on(garden):
    for hour in (10, 16):
        ask_for_reminders(now=noon(DUE, hour=hour))
    assert not Job.objects.filter(kind=REMINDERS).exists()

    ask_for_reminders(now=noon(DUE, hour=17))  # noon in Chicago in summer
    ask_for_reminders(now=noon(DUE, hour=17))
    assert Job.objects.filter(kind=REMINDERS).count() == 1

    look(noon(DUE, hour=17))
    look(noon(DUE, hour=20))
    assert Job.objects.filter(kind=REMINDERS).count() == 1
    look(noon(DUE + DAY, hour=17))
    assert [day.ended_at for day in ReminderDay.objects.order_by("date")] == [
        noon(DUE, hour=17), noon(DUE + DAY, hour=17),
    ]  # fmt: skip


def test_without_a_company_there_is_nothing_to_look_at(db):
    ask_for_reminders(now=noon(DUE))

    assert not Job.objects.exists()


def test_run_twice_is_run_once(garden, company, office):
    look_for_reminders(company.pk, noon(DUE))
    before = snapshot()

    found = look_for_reminders(company.pk, noon(DUE) + HOUR)
    end_look(company.pk, noon(DUE) + HOUR, found)
    assert look_for_reminders(company.pk, noon(DUE) + 2 * HOUR) is None
    look(noon(DUE) + 3 * HOUR)

    assert snapshot() == before
    assert [row.told for row in live("agreement")] == [1, 1]
    assert len(of_clients()) == len(mails(staff=office)) == 1


def snapshot():
    return (
        list(Reminder.objects.order_by("pk").values_list("key", "state", "told", "told_on")),
        list(Notice.objects.order_by("pk").values_list("key", "content_digest")),
    )


@pytest.mark.parametrize("step", ["tell", "keep_reminders", "digests"])
@pytest.mark.parametrize("died_at", [1, 7, 15])
def test_a_worker_that_dies_is_followed_by_one_that_tells_the_rest_once(
    company, office, monkeypatch, step, died_at
):
    monkeypatch.setattr(reminder_batches, "AT_ONCE", 2)
    for number in range(5):
        make_agreement_garden(f"Client {number}")
    real, calls = getattr(reminder_looks, step), []

    def die(*arguments, **named):
        calls.append(arguments)
        if len(calls) == (1 if step == "digests" else died_at):
            raise WorkerDied
        return real(*arguments, **named)

    with monkeypatch.context() as broken:
        broken.setattr(reminder_looks, step, die)
        with pytest.raises(WorkerDied):
            look(noon(DUE))

    look(noon(DUE) + HOUR)

    assert [row.told for row in live("agreement")] == [1] * 10
    assert len(of_clients()) == len({mail.customer_id for mail in of_clients()}) == 5
    (digest,) = mails(staff=office)
    assert content_of(digest.content).subject == "Reminders: 5 today, 5 open"
    assert ReminderDay.objects.get().ended_at == noon(DUE) + HOUR


def test_the_next_worker_begins_where_the_first_one_died(company, monkeypatch):
    monkeypatch.setattr(reminder_batches, "AT_ONCE", 1)
    gardens = sorted(make_agreement_garden(f"Client {number}").pk for number in range(3))
    ReminderDay.objects.create(date=DUE, reached=gardens[0])

    look_for_reminders(company.pk, noon(DUE))

    assert sorted({row.property_id for row in live("agreement")}) == gardens[1:]
    assert ReminderDay.objects.get().reached == gardens[-1]


def test_what_both_find_is_made_once(garden, company, monkeypatch):
    """A second worker makes the rows between our look at them and ours."""
    real, overtakes = reminder_upkeep._locked, []

    def overtaken(which):
        rows = real(which)
        if "agreement" in str(which) and not overtakes:
            overtakes.append(which)
            look_for_reminders(company.pk, noon(DUE))
        return rows

    monkeypatch.setattr(reminder_upkeep, "_locked", overtaken)
    look_for_reminders(company.pk, noon(DUE))

    assert len(overtakes) == 1
    assert [row.told for row in live("agreement")] == [1, 1]
    assert len(of_clients()) == 1


def test_it_is_told_again_after_its_days_as_often_as_the_rule_says(garden):
    """By default an agreement is told twice, 21 days apart."""
    for ahead in range(80):
        look(noon(DUE + ahead * DAY))

    assert [mail.created_at for mail in of_clients()] == [noon(DUE), noon(DUE + 21 * DAY)]
    assert [mail.issue for mail in of_clients()] == [1, 2]
    assert len(live("agreement")) == 2


def test_what_is_snoozed_rests_and_is_told_on_its_day(garden, office):
    look(noon(DUE))
    (row,) = live("agreement", "client")
    until = DUE + 5 * DAY  # sooner than it would be told again
    snooze(row, until=until, today=DUE, actor=office, now=noon(DUE))

    for ahead in range(1, 5):
        look(noon(DUE + ahead * DAY))
    assert len(of_clients()) == 1

    look(noon(until))
    assert len(of_clients()) == 2
    row.refresh_from_db()
    assert (row.state, row.snoozed_until, row.told_on) == ("open", None, until)


def test_what_is_snoozed_is_done_when_its_cause_is_gone(garden, office):
    look(noon(DUE))
    (row,) = live("agreement", "office")
    snooze(row, until=DUE + 9 * DAY, today=DUE, actor=office, now=noon(DUE))
    garden.tickets.update(state="void", closing_word="Entered twice.")

    look(noon(DUE + DAY))

    row.refresh_from_db()
    assert (row.state, row.snoozed_until) == ("done", None)


def test_what_is_stopped_is_told_no_more_until_it_is_resumed(garden, office):
    look(noon(DUE))
    (row,) = live("agreement", "client")
    stop(row, actor=office, now=noon(DUE))
    for ahead in range(1, 30):
        look(noon(DUE + ahead * DAY))
    assert len(of_clients()) == 1

    resume(row, actor=office, now=noon(DUE))
    look(noon(DUE + 30 * DAY))
    assert len(of_clients()) == 2


def test_a_cause_that_comes_back_opens_the_same_reminder(garden):
    look(noon(DUE))
    garden.tickets.update(state="void", closing_word="Entered twice.")
    look(noon(DUE + DAY))
    assert live("agreement") == []

    garden.tickets.update(state="open", closing_word="")
    look(noon(DUE + 2 * DAY))

    assert [row.told for row in live("agreement")] == [1, 1]
    assert Reminder.objects.count() == 2


def test_a_client_gets_no_more_than_his_share_of_a_month(garden, settings):
    settings.CLIENT_NOTICES_A_MONTH = 2
    last = dt.date(2026, 6, 30)
    told = noon(last)
    for number in range(2):
        queue_notices([draft(garden, "monthly", number)], now=told)

    look(told)
    assert len(of_clients()) == 2
    (row,) = live("agreement", "client")
    assert (row.told, row.told_on) == (0, None)
    assert [each.told for each in live("agreement", "office")] == [1]

    look(noon(last + DAY))
    assert [mail.kind for mail in of_clients()] == ["monthly", "monthly", "reminder"]


def draft(garden, kind, number):
    return NoticeDraft(
        key=f"{kind}:{number}", kind=kind, content=NoticeContent("Words", "More words."),
        customer_id=garden.customer_id, property_id=garden.pk,
    )  # fmt: skip


def test_his_gardens_share_one_share_and_the_nearest_dates_come_first(garden, technician, settings):
    settings.CLIENT_NOTICES_A_MONTH = 1
    second = cast.make_property(garden.customer, name="Second garden")
    cast.make_visit(second, technician, planned_date=DUE + 2 * DAY)

    look(noon(DUE))

    (mail,) = of_clients()
    assert (mail.kind, mail.property) == ("visit", second)


def test_what_is_urgent_and_what_was_held_back_do_not_count(garden, settings):
    settings.CLIENT_NOTICES_A_MONTH = 1
    for number, kind in enumerate(("frost", "heat", "drought", "monthly")):
        queue_notices([draft(garden, kind, number)], now=noon(DUE))
    Notice.objects.filter(kind="monthly").update(state="held")

    look(noon(DUE))

    assert [mail.kind for mail in mails(kind="reminder", customer=garden.customer)] == ["reminder"]


def test_frost_is_told_however_much_a_client_got(garden, station, settings):
    settings.CLIENT_NOTICES_A_MONTH = 0
    zone = cast.make_zone(cast.make_controller(garden))
    cast.make_heads(zone)
    store_plans(garden, actor=None, now=cast.NOW)
    make_forecast(station, {"tmin_c": 9.0}, {"tmin_c": 1.0})

    look(noon(cast.TODAY))

    assert [mail.kind for mail in of_clients()] == ["frost"]


def test_the_day_is_that_of_the_propertys_clock(garden, company):
    """At 18:00 UTC it is the afternoon in Chicago, and the next day in Auckland."""
    far = make_agreement_garden("Kai Berg", time_zone="Pacific/Auckland")
    assert far.tickets.get().created_at == cast.NOW  # 11 June in Auckland

    look(noon(DUE - DAY))
    assert live("agreement") == []
    look(noon(DUE))
    assert sorted({row.property_id for row in live("agreement")}) == sorted([garden.pk, far.pk])
    assert {row.property_id: row.due_date for row in live("agreement")} == {
        garden.pk: DUE, far.pk: DUE + DAY,
    }  # fmt: skip


@pytest.mark.parametrize("change", [dt.date(2026, 3, 8), dt.date(2026, 11, 1)])
def test_on_the_days_on_which_the_clock_changes_each_date_has_one_look(garden, change):
    """The clocks of the United States, 2026 (IANA time zone database)."""
    start = dt.datetime.combine(change - 2 * DAY, dt.time(), ZoneInfo("America/Chicago"))
    for quarters in range(4 * 24 * 4):
        look(start.astimezone(dt.UTC) + quarters * dt.timedelta(minutes=15))

    ended = [day.ended_at for day in ReminderDay.objects.order_by("date")]
    local = [each.astimezone(ZoneInfo("America/Chicago")) for each in ended]
    assert [(each.date() - change).days for each in local] == [-2, -1, 0, 1]
    assert {each.time() for each in local} == {dt.time(12)}


def test_across_the_end_of_a_month_and_a_year_nothing_is_lost_or_doubled(garden, technician):
    cast.make_visit(garden, technician, planned_date=dt.date(2027, 1, 1))
    for date in (dt.date(2026, 12, 30), dt.date(2026, 12, 31), dt.date(2027, 1, 1)):
        look(noon(date))

    assert [mail.kind for mail in mails(kind="visit")] == ["visit", "visit"]
    assert {mail.period for mail in mails(kind="visit")} == {dt.date(2027, 1, 1)}


def make_everything(number, technician, station):
    """A garden with a cause of each kind."""
    garden = make_agreement_garden(f"Client {number}", backflow_tested_on=dt.date(2025, 1, 1))
    controller = cast.make_controller(garden)
    zone = cast.make_zone(controller)
    cast.make_heads(zone)
    store_plans(garden, actor=None, now=cast.NOW)
    at = dt.datetime(2024, 1, 1, 12, tzinfo=dt.UTC)
    visit = cast.make_visit(garden, technician, planned_date=at.date(), state="finished",
                            started_at=at, finished_at=at)  # fmt: skip
    cast.make_catch_test(visit, zone, du_lq=0.3, taken_at=at)
    cast.make_ticket(garden, zone=zone, fault="worn_nozzle", state="mended", visit=visit)
    garden.controllers.get().settings.create(source="found", since=at.date(), **cast.ROW)
    ControllerProgram.objects.create(
        controller=controller, number=1, month=6, inputs={}, programs=[], unmet=[], cost=0.0,
        gap=0.0, settings_digest="x", created_at=cast.NOW + HOUR, changed_at=cast.NOW,
    )  # fmt: skip
    cast.make_visit(garden, technician, kind="service_call", planned_date=DUE + DAY)
    return garden


def queries_of_a_look(company, date):
    with CaptureQueriesContext(connection) as queries:
        look_for_reminders(company.pk, noon(date))
    return len(queries)


def test_a_batch_costs_as_many_queries_however_many_gardens_it_has(
    company, station, technician, settings
):
    settings.CLIENT_NOTICES_A_MONTH = 50
    rules(now=cast.NOW)
    ReminderRule.objects.filter(kind__in=("season_start", "winter_shut_down", "audit_season")
                                ).update(month=7, day=1)  # fmt: skip
    make_everything(0, technician, station)
    cast.make_licence(technician, valid_until=DUE)
    make_forecast(station, *({"tmin_c": 9.0} for _ in range(14)), {"tmin_c": 1.0})
    station.forecast_documents.update(issued_at=noon(DUE))
    first = queries_of_a_look(company, DUE)
    assert set(Reminder.objects.values_list("kind", flat=True)) == set(ReminderKind)

    for number in range(1, 4):
        make_everything(number, technician, station)
    Reminder.objects.all().delete()
    Notice.objects.all().delete()
    ReminderDay.objects.all().delete()

    assert queries_of_a_look(company, DUE) == first
    assert queries_of_a_look(company, DUE + DAY) < first
