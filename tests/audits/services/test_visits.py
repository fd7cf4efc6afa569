"""The life of a visit."""

from __future__ import annotations

import datetime as dt
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest
from django.db import connection

from audits.models import Visit, VisitState
from audits.services.visits import (
    call_off_visit,
    finish_visit,
    miss_visit,
    plan_visit,
    start_visit,
)
from audits.signals import visit_finished
from properties.domain.errors import InvalidInputError, RefusedError
from properties.models import Event
from tests import cast

LATER = cast.NOW + dt.timedelta(hours=1)
MOVES = {
    "start": (start_visit, VisitState.PLANNED, VisitState.UNDER_WAY),
    "finish": (finish_visit, VisitState.UNDER_WAY, VisitState.FINISHED),
    "call off": (call_off_visit, VisitState.PLANNED, VisitState.CALLED_OFF),
    "miss": (miss_visit, VisitState.PLANNED, VisitState.MISSED),
}
FORBIDDEN = [
    (move, state)
    for move, (_, before, _) in MOVES.items()
    for state in VisitState.values
    if state != before
]
MOMENTS = {
    VisitState.UNDER_WAY: {"started_at": cast.NOW},
    VisitState.FINISHED: {"started_at": cast.NOW, "finished_at": cast.NOW},
}


def visit_in(state, garden, technician):
    return cast.make_visit(garden, technician, state=state, **MOMENTS.get(state, {}))


def test_plans_a_visit_for_a_working_technician(garden, technician, office):
    values = {"property": garden, "technician": technician, "planned_date": cast.TODAY}

    visit = plan_visit(values, actor=office, now=cast.NOW)

    assert (visit.state, visit.kind, visit.started_at) == ("planned", "audit", None)
    event = Event.objects.get(subject_id=visit.pk)
    assert (event.act, event.actor, event.at) == ("planned", office, cast.NOW)


@pytest.mark.parametrize("changes", [{"role": "office"}, {"is_active": False}])
def test_refuses_to_plan_for_somebody_who_is_no_working_technician(
    garden, technician, office, changes
):
    for name, value in changes.items():
        setattr(technician, name, value)
    technician.save()
    values = {"property": garden, "technician": technician, "planned_date": cast.TODAY}

    with pytest.raises(InvalidInputError) as refusal:
        plan_visit(values, actor=office, now=cast.NOW)

    assert refusal.value.field == "technician"
    assert not Visit.objects.exists()


@pytest.mark.parametrize("move", MOVES)
def test_moves_from_the_one_state_that_it_may(garden, technician, move):
    service, before, after = MOVES[move]
    visit = visit_in(before, garden, technician)

    moved = service(visit, actor=technician, now=LATER)

    stored = Visit.objects.get(pk=visit.pk)
    assert stored.state == moved.state == after
    assert (stored.revision, stored.changed_at) == (2, LATER)
    moments = {"start": (LATER, None), "finish": (cast.NOW, LATER)}
    assert (stored.started_at, stored.finished_at) == moments.get(move, (None, None))
    event = Event.objects.get(subject_id=visit.pk)
    assert (event.act, event.actor, event.before["state"]) == (after, technician, before)


@pytest.mark.parametrize(("move", "state"), FORBIDDEN)
def test_refuses_every_other_move_and_leaves_the_visit(garden, technician, move, state):
    service, allowed, _ = MOVES[move]
    visit = visit_in(state, garden, technician)
    before = Visit.objects.values().get(pk=visit.pk)

    with pytest.raises(RefusedError) as refusal:
        service(visit, actor=technician, now=LATER)

    assert (refusal.value.code, refusal.value.field) == ("visit-state", "state")
    assert refusal.value.remedy == f"It must be {allowed.label.lower()} first."
    assert VisitState(state).label.lower() in refusal.value.detail
    assert Visit.objects.values().get(pk=visit.pk) == before
    assert not Event.objects.exists()


def test_a_stale_copy_of_a_visit_does_not_move_it_twice(garden, technician):
    visit = cast.make_visit(garden, technician)
    stale = Visit.objects.get(pk=visit.pk)
    start_visit(visit, actor=technician, now=cast.NOW)

    with pytest.raises(RefusedError, match="under way"):
        call_off_visit(stale, actor=technician, now=LATER)


def test_the_apps_above_hear_of_a_finished_visit_only(garden, technician):
    heard = []

    def hear(sender, **news):
        heard.append((news["visit"].pk, news["visit"].state, news["actor"], news["now"]))

    visit_finished.connect(hear)
    try:
        visit = cast.make_visit(garden, technician)
        start_visit(visit, actor=technician, now=cast.NOW)
        assert heard == []
        finish_visit(visit, actor=technician, now=LATER)
    finally:
        visit_finished.disconnect(hear)

    assert heard == [(visit.pk, "finished", technician, LATER)]


@pytest.mark.services
@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("rivals", [(start_visit,) * 4, (start_visit, call_off_visit, miss_visit)])
def test_of_those_who_move_at_once_one_wins(rivals):
    cast.make_company()
    technician = cast.make_technician()
    visit = cast.make_visit(cast.make_property(), technician)
    gate = Barrier(len(rivals))

    def move(service):
        gate.wait()
        try:
            return service(visit, actor=technician, now=LATER).state
        except RefusedError as refusal:
            return refusal.code
        finally:
            connection.close()

    with ThreadPoolExecutor(len(rivals)) as pool:
        outcomes = list(pool.map(move, rivals))

    assert outcomes.count("visit-state") == len(rivals) - 1
    assert Visit.objects.get().state in outcomes
    assert Event.objects.filter(subject_id=visit.pk).count() == 1


@pytest.mark.parametrize("give_up", [call_off_visit, miss_visit])
def test_repairs_booked_on_a_visit_that_falls_out_wait_for_another_one(
    garden, technician, office, give_up
):
    visit = cast.make_visit(garden, technician)
    booked = cast.make_ticket(garden, state="booked", visit=visit)
    other = cast.make_ticket(garden, state="booked", fault="turned")

    give_up(visit, actor=office, now=cast.NOW)

    booked.refresh_from_db()
    other.refresh_from_db()
    assert (booked.state, booked.visit, booked.agreed_by) == ("agreed", None, "Ingrid Holm")
    assert other.state == "booked"
    assert Event.objects.filter(subject_id=booked.pk, act="unbooked").count() == 1
