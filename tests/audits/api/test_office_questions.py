"""What the office asks of all its houses: whom to audit, what waters badly, what is open."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest

from audits.models import RepairTicket, VisitKind, VisitState
from tests import cast

API = "/api/v1"


def rows(api: Any, path: str, **query: Any) -> list[Any]:
    answer = api.get(f"{API}/{path}", query)
    assert answer.status_code == 200, answer.content
    found: list[Any] = answer.json()["results"]
    return found


@pytest.fixture
def houses(garden, technician):
    def make(name: str, *audits: str, **more: Any) -> Any:
        house = cast.make_property(garden.customer, name=name)
        for day in audits:
            finished = {"state": VisitState.FINISHED, "finished_at": cast.NOW, **more}
            cast.make_visit(
                house, technician, planned_date=dt.date.fromisoformat(day), started_at=cast.NOW,
                **finished,
            )  # fmt: skip
        return house

    garden.delete()
    return make


def test_who_was_never_audited_comes_first_then_the_longest_ago(office_api, houses):
    houses("lately", "2023-04-01", "2026-05-01")
    houses("long ago", "2021-04-01")
    houses("never")
    houses("repaired", "2026-06-01", kind=VisitKind.REPAIR)
    houses("missed", "2020-06-01", state=VisitState.MISSED, finished_at=None)

    found = rows(office_api, "audit-ages")

    assert {row["name"] for row in found[:3]} == {"never", "repaired", "missed"}
    assert {row["last_audit_date"] for row in found[:3]} == {None}
    assert [(row["name"], row["last_audit_date"]) for row in found[3:]] == [
        ("long ago", "2021-04-01"), ("lately", "2026-05-01"),
    ]  # fmt: skip


def test_audits_are_narrowed_by_age_and_by_what_is_planned(office_api, houses, technician):
    lately, never = houses("lately", "2026-05-01"), houses("never")
    houses("old", "2020-05-01")
    cast.make_visit(never, technician, planned_date=cast.TODAY)

    def names(**query: Any) -> list[str]:
        return [row["name"] for row in rows(office_api, "audit-ages", **query)]

    assert names(audited_before="2026-01-01") == ["old"]
    assert names(never_audited="true") == ["never"]
    assert names(has_next_audit="false") == ["old", "lately"]
    assert names(ordering="-last_audit_date") == ["lately", "old", "never"]
    lately.retired_at = cast.NOW
    lately.save()
    assert names() == ["never", "old"]


def test_the_worst_ruling_tests_come_first_and_others_do_not_come(office_api, visit, controller):
    worst, poor, good, gone, mended = (
        cast.make_zone(controller, number=number, name=name)
        for number, name in enumerate(("worst", "poor", "good", "gone", "mended"), start=1)
    )
    for zone, du in ((worst, 0.3), (poor, 0.5), (good, 0.8), (gone, 0.2)):
        cast.make_catch_test(visit, zone, du_lq=du)
    cast.make_catch_test(visit, mended, du_lq=0.2, taken_at=cast.NOW - dt.timedelta(days=9))
    cast.make_catch_test(visit, mended, du_lq=0.9)
    void = {"voided_at": cast.NOW, "void_reason": "wrong zone"}
    cast.make_catch_test(visit, good, du_lq=0.1, **void)
    gone.is_active = False
    gone.save()

    query = {"is_ruling": "true", "du_lq_max": 0.6, "ordering": "du_lq", "expand": "zone"}
    found = rows(office_api, "catch-tests", **query)
    others = rows(office_api, "catch-tests", is_ruling="false")

    assert [row["expanded"]["zone"]["name"] for row in found] == ["worst", "poor"]
    assert sorted(row["du_lq"] for row in others) == [0.1, 0.2, 0.2]


def test_zones_that_no_valid_test_tells_of_are_listed(office_api, visit, controller):
    names = ("tested", "untested", "voided", "before", "resting")
    zones = {
        name: cast.make_zone(controller, number=number, name=name, is_active=name != "resting")
        for number, name in enumerate(names, start=1)
    }
    cast.make_catch_test(visit, zones["tested"])
    cast.make_catch_test(
        visit, zones["voided"], voided_at=cast.NOW, void_reason="the wrong zone ran"
    )
    cast.make_catch_test(visit, zones["before"], before_mending=True)

    found = rows(office_api, "untested-zones", expand="property")

    assert {row["name"] for row in found} == {"untested", "voided", "before"}
    assert found[0]["expanded"]["property"]["name"] == "Holm garden"


def test_open_tickets_come_by_age(office_api, garden, zone):
    made = {}
    for days, (fault, state) in enumerate(
        (("leaning", "open"), ("broken", "declined"), ("sunken", "agreed")), start=1
    ):
        moment = cast.NOW - dt.timedelta(days=days)
        made[days] = cast.make_ticket(
            garden, zone=zone, fault=fault, state=state, created_at=moment
        )

    found = rows(office_api, "repair-tickets", is_live="true", ordering="created_at")
    states = rows(office_api, "repair-tickets", state="open,declined", ordering="-created_at")

    assert [row["id"] for row in found] == [str(made[3].pk), str(made[1].pk)]
    assert [row["state"] for row in states] == ["open", "declined"]
    assert RepairTicket.objects.count() == 3


def test_visits_come_by_day_technician_and_state(office_api, garden, technician, outsider):
    for days, who in ((0, technician), (1, outsider), (2, technician), (9, technician)):
        day = cast.TODAY + dt.timedelta(days=days)
        cast.make_visit(garden, who, planned_date=day)
    week = {"planned_date_min": "2026-06-10", "planned_date_max": "2026-06-16"}

    mine = rows(office_api, "visits", technician=technician.pk, ordering="planned_date", **week)

    assert [row["planned_date"] for row in mine] == ["2026-06-10", "2026-06-12"]
    assert rows(office_api, "visits", state="finished,missed", **week) == []


def test_rates_are_filtered_in_mm_an_hour(office_api, visit, zone):
    cast.make_catch_test(visit, zone)

    assert len(rows(office_api, "catch-tests", rate_mm_h_min=40, units="us")) == 1
    assert rows(office_api, "catch-tests", rate_mm_h_min=40.1, units="us") == []
