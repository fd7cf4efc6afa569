"""Each kind of reminder: not yet due, due, and gone. All rows are constructed."""

from __future__ import annotations

import datetime as dt

import pytest

from audits.models import ProgramSetting, RepairTicket, Visit
from audits.services.ticket_moves import agree_ticket
from properties.models import Customer, Property
from scheduling.domain.notice_content import content_of
from scheduling.models import ControllerProgram, Notice, Reminder, ReminderRule
from tests import cast
from tests.scheduling.services.reminder_looks import dates_of, days, live, look, noon

pytestmark = pytest.mark.django_db
TODAY, DAY = cast.TODAY, dt.timedelta(days=1)  # 10 June 2026


@pytest.fixture
def garden(company):
    """A garden with a controller whose client agreed to notices."""
    garden = cast.make_property(cast.make_customer(wants_notices=True))
    cast.make_controller(garden)
    return garden


def make_found_setting(controller, **changes):
    values = {"source": "found", "since": TODAY, **cast.ROW, **changes}
    return ProgramSetting.objects.create(controller=controller, **values)


def make_fitted(controller, created_at):
    return ControllerProgram.objects.create(
        controller=controller, number=1, month=6, inputs={}, programs=[], unmet=[], cost=0.0,
        gap=0.0, settings_digest="x", created_at=created_at, changed_at=created_at,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("kind", "visit_kind", "date"),
    [
        ("season_start", "season_start", dt.date(2027, 4, 1)),
        ("winter_shut_down", "winter_shut_down", dt.date(2026, 10, 15)),
    ],
)
def test_a_season_is_due_a_month_before_it_until_a_visit_is_planned(
    garden, technician, kind, visit_kind, date
):
    assert dates_of(kind, date - days(31)) == []
    assert dates_of(kind, date - days(30)) == [date]
    assert dates_of(kind, date - days(29), audience="client") == [date]

    visit = cast.make_visit(garden, technician, kind=visit_kind, planned_date=date + days(9))

    assert dates_of(kind, date - days(28)) == []
    Visit.objects.filter(pk=visit.pk).update(state="missed")
    assert dates_of(kind, date + days(10)) == [date]
    assert dates_of(kind, date + days(61)) == []


def test_a_visit_of_another_kind_or_year_starts_no_season(garden, technician):
    date = dt.date(2027, 4, 1)
    cast.make_visit(garden, technician, kind="audit", planned_date=date)
    cast.make_visit(garden, technician, kind="season_start", planned_date=date - days(365))

    assert dates_of("season_start", date) == [date]


def test_a_planned_visit_that_nobody_made_starts_no_season(garden, technician):
    date = dt.date(2027, 4, 1)
    cast.make_visit(garden, technician, kind="season_start", planned_date=date)

    assert dates_of("season_start", date) == []
    assert dates_of("season_start", date + DAY) == [date]


def test_where_there_is_no_controller_there_is_no_season(company):
    cast.make_property(cast.make_customer(wants_notices=True))

    assert dates_of("season_start", dt.date(2027, 4, 1)) == []


def test_a_backflow_test_is_due_a_year_after_the_last(garden):
    tested = dt.date(2025, 8, 20)
    Property.objects.update(backflow_tested_on=tested)

    assert dates_of("backflow_test", dt.date(2026, 7, 20)) == []
    assert dates_of("backflow_test", dt.date(2026, 7, 21)) == [dt.date(2026, 8, 20)]

    Property.objects.update(backflow_tested_on=dt.date(2026, 7, 22))
    assert dates_of("backflow_test", dt.date(2026, 7, 23)) == []
    assert dates_of("backflow_test", dt.date(2027, 7, 1)) == [dt.date(2027, 7, 22)]


def test_without_a_last_test_none_is_due(garden):
    assert dates_of("backflow_test", TODAY) == []


def test_a_licence_is_told_to_the_technician_until_the_next_is_on_file(technician):
    cast.make_licence(technician, valid_until=dt.date(2026, 12, 31))

    assert dates_of("licence", dt.date(2026, 10, 31)) == []
    assert dates_of("licence", dt.date(2026, 11, 1)) == [dt.date(2026, 12, 31)]
    notice = Notice.objects.get(staff=technician)
    assert "irrigation technician L-1" in content_of(notice.content).summary
    assert notice.property is None

    cast.make_licence(technician, number="L-2", valid_until=dt.date(2027, 12, 31))
    assert dates_of("licence", dt.date(2026, 11, 2)) == []


def test_a_licence_that_ran_out_stays_due_until_the_technician_leaves(technician):
    cast.make_licence(technician, valid_until=TODAY - days(9))
    assert dates_of("licence", TODAY) == [TODAY - days(9)]

    technician.is_active = False
    technician.save()
    assert dates_of("licence", TODAY + DAY) == []


def test_a_licence_of_another_kind_is_no_renewal(technician):
    cast.make_licence(technician, valid_until=TODAY)
    cast.make_licence(technician, kind="backflow tester", number="B-1",
                      valid_until=dt.date(2028, 1, 1))  # fmt: skip

    assert dates_of("licence", TODAY) == [TODAY]


def make_audit(garden, technician, date):
    at = noon(date)
    return cast.make_visit(
        garden, technician, planned_date=date, state="finished", started_at=at, finished_at=at
    )


def test_an_audit_is_due_two_years_after_the_last(garden, technician):
    make_audit(garden, technician, dt.date(2020, 6, 10))
    make_audit(garden, technician, dt.date(2024, 6, 20))

    assert dates_of("audit_age", dt.date(2026, 6, 19)) == []
    assert dates_of("audit_age", dt.date(2026, 6, 20)) == [dt.date(2026, 6, 20)]

    cast.make_visit(garden, technician, planned_date=dt.date(2026, 8, 1))
    assert dates_of("audit_age", dt.date(2026, 6, 21)) == []
    assert dates_of("audit_age", dt.date(2026, 8, 2)) == [dt.date(2026, 6, 20)]


def test_a_visit_is_ahead_by_the_propertys_own_day(garden, technician):
    """At 18:00 UTC it is the next day in Auckland; Chicago's day makes the query reach back."""
    far = cast.make_property(garden.customer, name="Far", time_zone="Pacific/Auckland")
    make_audit(far, technician, dt.date(2024, 1, 1))
    cast.make_visit(far, technician, planned_date=TODAY)

    assert dates_of("audit_age", TODAY) == [dt.date(2025, 12, 31)]


@pytest.mark.parametrize(
    ("last", "what"),
    [
        (None, "no audit yet"),
        (dt.date(2026, 4, 1), "last audit in 2026"),
        (dt.date(2026, 4, 2), ""),
    ],
)
def test_before_the_season_an_audit_is_due_where_none_is_new_enough(garden, technician, last, what):
    if last is not None:
        make_audit(garden, technician, last)
    date = dt.date(2027, 4, 1)

    assert dates_of("audit_season", date - days(46)) == []
    look(noon(date - days(45)))
    assert [row.what for row in live("audit_season")] == ([what] if what else [])

    cast.make_visit(garden, technician, planned_date=date)
    assert dates_of("audit_season", date - days(44)) == []


@pytest.mark.parametrize(("du_lq", "is_poor"), [(0.49, True), (0.50, False)])
def test_poor_uniformity_asks_for_an_audit(garden, technician, du_lq, is_poor):
    """A spray zone is graded fair from 0.50 on: IA scheduling guide, 2005 (from memory)."""
    zone = cast.make_zone(garden.controllers.get())
    cast.make_catch_test(make_audit(garden, technician, TODAY), zone, du_lq=du_lq)

    assert dates_of("audit_uniformity", TODAY + days(29)) == []
    look(noon(TODAY + days(30)))
    found = [row.what for row in live("audit_uniformity")]
    assert found == ([f"zone 1 Front lawn, uniformity {du_lq:.2f}"] if is_poor else [])

    again = make_audit(garden, technician, TODAY + days(31))
    cast.make_catch_test(again, zone, du_lq=0.7, taken_at=noon(TODAY + days(31)))
    assert dates_of("audit_uniformity", TODAY + days(31)) == []


def test_the_worst_zone_is_named_and_a_planned_repair_is_enough(garden, technician):
    visit = make_audit(garden, technician, TODAY)
    for number, du_lq in enumerate((0.45, 0.31, 0.40), start=1):
        zone = cast.make_zone(garden.controllers.get(), number=number, name=f"Z{number}")
        cast.make_catch_test(visit, zone, du_lq=du_lq)

    look(noon(TODAY + days(40)))
    assert [row.what for row in live("audit_uniformity")] == ["zone 2 Z2, uniformity 0.31"]

    cast.make_visit(garden, technician, kind="repair", planned_date=TODAY + days(50))
    assert dates_of("audit_uniformity", TODAY + days(41)) == []


def test_what_was_mended_waits_for_its_retest(garden, technician):
    zone = cast.make_zone(garden.controllers.get())
    ticket = cast.make_ticket(garden, zone=zone, fault="worn_nozzle", state="mended",
                              visit=make_audit(garden, technician, TODAY))  # fmt: skip

    assert dates_of("audit_retest", TODAY + days(13)) == []
    assert dates_of("audit_retest", TODAY + days(14)) == [TODAY + days(14)]
    (row,) = live("audit_retest")
    assert (row.ticket, row.what) == (ticket, "worn nozzle")

    cast.make_visit(garden, technician, kind="retest", planned_date=TODAY + days(20))
    assert dates_of("audit_retest", TODAY + days(15)) == []


def test_what_is_proven_otherwise_waits_for_no_retest(garden, technician):
    cast.make_ticket(garden, fault="valve_does_not_open", state="mended",
                     visit=make_audit(garden, technician, TODAY))  # fmt: skip

    assert dates_of("audit_retest", TODAY + days(30)) == []


def test_an_open_agreement_is_asked_for_until_somebody_agreed(garden, office):
    for fault in ("worn_nozzle", "leaking_seal"):
        ticket = cast.make_ticket(garden, fault=fault)

    assert dates_of("agreement", TODAY + days(13)) == []
    assert dates_of("agreement", TODAY + days(14)) == [TODAY + days(14)]
    content = content_of(Notice.objects.get(customer=garden.customer).content)
    assert content.summary.startswith("On June 10, 2026 we proposed a repair at Holm")

    for ticket in RepairTicket.objects.all():
        agree_ticket(ticket, person="Ingrid Holm", actor=office, now=cast.NOW)
    assert dates_of("agreement", TODAY + days(15)) == []


def test_a_found_program_is_told_while_new_settings_wait(garden):
    controller = garden.controllers.get()
    make_found_setting(controller)
    assert dates_of("found_program", TODAY + days(40)) == []

    make_fitted(controller, noon(TODAY + days(40)))
    assert dates_of("found_program", TODAY + days(53)) == []
    assert dates_of("found_program", TODAY + days(54)) == [TODAY + days(54)]
    assert [row.controller for row in live("found_program", "client")] == [controller]

    make_found_setting(controller, source="set_by_us", since=TODAY + days(50))
    assert dates_of("found_program", TODAY + days(55)) == []


def test_settings_that_a_monthly_notice_told_wait_too(garden):
    make_found_setting(garden.controllers.get())
    sent_at = noon(TODAY + days(2))
    Notice.objects.create(
        key="monthly:1", kind="monthly", customer=garden.customer, property=garden, content={},
        content_digest="x", state="sent", message_id="<1@x>", sent_at=sent_at, **cast.ROW,
    )  # fmt: skip

    assert dates_of("found_program", TODAY + days(15)) == []
    assert dates_of("found_program", TODAY + days(16)) == [TODAY + days(16)]


def test_settings_from_before_we_looked_were_not_told_for_it(garden):
    controller = garden.controllers.get()
    make_fitted(controller, cast.NOW - days(30))
    make_found_setting(controller)

    assert dates_of("found_program", TODAY + days(60)) == []


def test_settings_of_one_controller_are_not_those_of_another(garden):
    old, new = garden.controllers.get(), cast.make_controller(garden, name="Shed")
    make_found_setting(old)
    for controller in (old, new):
        make_fitted(controller, cast.NOW + days(10))
    make_found_setting(new, created_at=cast.NOW + days(20))

    look(noon(TODAY + days(60)))

    assert [row.controller for row in live("found_program", "office")] == [old]


def test_where_we_set_the_controller_the_client_is_not_asked(garden):
    Property.objects.update(may_change_program=True)
    make_found_setting(garden.controllers.get())
    make_fitted(garden.controllers.get(), cast.NOW + DAY)

    look(noon(TODAY + days(20)))

    assert len(live("found_program", "office")) == 1
    assert live("found_program", "client") == []


def test_a_rule_that_is_off_tells_nothing_and_closes_what_it_told(garden):
    cast.make_ticket(garden)
    assert dates_of("agreement", TODAY + days(14)) == [TODAY + days(14)]

    ReminderRule.objects.filter(kind="agreement").update(is_on=False)
    assert dates_of("agreement", TODAY + days(15)) == []

    ReminderRule.objects.filter(kind="agreement").update(is_on=True)
    assert dates_of("agreement", TODAY + days(16)) == [TODAY + days(14)]
    assert Reminder.objects.filter(kind="agreement").count() == 2


def test_a_client_without_consent_gets_nothing(garden):
    Customer.objects.update(wants_notices=False)
    cast.make_ticket(garden)

    look(noon(TODAY + days(14)))

    assert not Notice.objects.filter(customer__isnull=False).exists()
    assert [row.audience for row in live("agreement")] == ["office"]
