"""Repair tickets over the API: who moves them, what they cost, what proves them."""

from __future__ import annotations

import pytest

from audits.models import CupReading, RepairTicket, TicketLine, TicketProof
from properties.models import Event
from tests import cast
from tests.audits.services.test_ticket_proofs import AFTER, BEFORE, make_flow_check, make_photo
from tests.problems import pointers, row_counts

URL = "/api/v1/repair-tickets"
CHECK = {"kind": "function_check", "fault_is_gone": True, "note": "Ran it for five minutes."}


def body_of(act, visit):
    """Return what each move asks for."""
    return {
        "agree": {"person": "Ingrid Holm"},
        "book": {"visit": str(visit.pk)},
        "unbook": {"reason": "Rain."},
        "mend": {},
        "prove": {**CHECK, "visit": str(visit.pk)},
        "decline": {"person": "Ingrid Holm"},
        "void": {"reason": "Entered twice."},
    }[act]


@pytest.fixture
def planned(garden, technician):
    return cast.make_visit(garden, technician)


# Each move: the state it starts from, the state it leads to, and the answer to the office, the
# technician of the visit, a stranger and nobody.
MOVES = [
    ("agree", "open", "agreed", "200 403 403 401"),
    ("book", "agreed", "booked", "200 403 403 401"),
    ("book", "booked", "booked", "200 403 403 401"),
    ("unbook", "booked", "agreed", "200 403 403 401"),
    ("mend", "booked", "mended", "200 200 404 401"),
    ("prove", "mended", "proven", "201 201 404 401"),
    ("decline", "agreed", "declined", "200 403 403 401"),
    ("void", "open", "void", "200 403 403 401"),
]
PEOPLE = ["office_api", "technician_api", "outsider_api", "anonymous_api"]


@pytest.mark.parametrize("move", MOVES)
@pytest.mark.parametrize("number", range(4))
def test_who_may_make_which_move(request, visit, planned, move, number):
    act, state, target, statuses = move
    api, status = request.getfixturevalue(PEOPLE[number]), int(statuses.split()[number])
    ticket = cast.make_ticket(visit.property, state=state, visit=visit)
    before = row_counts(), RepairTicket.objects.values().get()
    sent = body_of(act, planned if act == "book" else visit)

    answer = api.post(f"{URL}/{ticket.pk}/{act}", sent)

    assert answer.status_code == status
    if status < 400:
        assert RepairTicket.objects.get().state == target
        assert Event.objects.filter(subject_id=ticket.pk).count() == 1
    else:
        assert (row_counts(), RepairTicket.objects.values().get()) == before


@pytest.mark.parametrize("act", ["mend", "prove"])
def test_a_technician_of_the_house_moves_nothing_at_the_visit_of_another(
    outsider_api, outsider, visit, act
):
    cast.make_visit(visit.property, outsider)
    state = {"mend": "booked", "prove": "mended"}[act]
    ticket = cast.make_ticket(visit.property, state=state, visit=visit)
    before = row_counts(), RepairTicket.objects.values().get()

    answer = outsider_api.post(f"{URL}/{ticket.pk}/{act}", body_of(act, visit))

    assert (answer.status_code, pointers(answer)) == (409, ["/visit"])
    assert answer.json()["code"] == "not-your-visit"
    assert (row_counts(), RepairTicket.objects.values().get()) == before


@pytest.mark.parametrize(
    ("state", "act", "changes", "refusal"),
    [
        ("open", "agree", {"person": ""}, (400, "/person")),
        ("open", "agree", {"agreed_at": "2026-06-12T15:00:00Z"}, (400, "/agreed_at")),
        ("open", "agree", {"hat": "red"}, (400, "/hat")),
        ("void", "agree", {}, (409, "/state")),
        ("agreed", "book", {"visit": "00000000-0000-7000-8000-000000000000"}, (400, "/visit")),
        ("agreed", "book", {}, (409, "/visit")),
        ("booked", "mend", {"mended_at": "2026-06-12T15:00:00Z"}, (400, "/mended_at")),
        ("booked", "mend", {"mended_at": "2026-06-10T14:59:59Z"}, (400, "/mended_at")),
        ("open", "mend", {}, (409, "/state")),
        ("mended", "prove", {"kind": "rumour"}, (400, "/kind")),
        ("mended", "prove", {"note": ""}, (400, "/note")),
        ("mended", "prove", {"kind": "photo"}, (400, "/photo")),
        ("mended", "prove", {"kind": "paired_retest"}, (400, "/test_before")),
        ("booked", "prove", {}, (409, "/state")),
        ("open", "void", {"reason": " "}, (400, "/reason")),
    ],
)
def test_a_refused_move_names_its_field_and_writes_nothing(
    office_api, visit, state, act, changes, refusal
):
    ticket = cast.make_ticket(visit.property, state=state, visit=visit)
    before = row_counts(), RepairTicket.objects.values().get()

    answer = office_api.post(f"{URL}/{ticket.pk}/{act}", body_of(act, visit) | changes)

    assert (answer.status_code, *pointers(answer)) == refusal
    assert (row_counts(), RepairTicket.objects.values().get()) == before


def test_a_ticket_tells_its_facts_and_its_total(office_api, visit):
    ticket = cast.make_ticket(visit.property, state="mended", visit=visit)
    cast.make_ticket_line(ticket)

    told = office_api.get(f"{URL}/{ticket.pk}").json()

    assert (told["state"], told["agreed_by"], told["total"]) == ("mended", "Ingrid Holm", "12.75")
    assert (told["visit"], told["mended_by"]) == (str(visit.pk), str(visit.technician_id))


def test_a_line_is_written_at_the_price_of_the_list_and_struck(office_api, technician_api, visit):
    ticket, item = cast.make_ticket(visit.property), cast.make_price_item()
    lines, sent = f"{URL}/{ticket.pk}/lines", {"item": str(item.pk), "quantity": "2.5"}

    assert technician_api.post(lines, sent).status_code == 403
    made = office_api.post(lines, sent)

    assert made.status_code == 201
    assert made.json().items() >= {"unit_price": "4.25", "amount": "10.63"}.items()
    assert technician_api.get(lines).json()["results"] == [made.json()]
    strike = f"/api/v1/ticket-lines/{made.json()['id']}/strike"
    assert technician_api.post(strike).status_code == 403
    assert office_api.post(strike).json()["is_struck"] is True
    assert office_api.post(strike).status_code == 409
    assert office_api.get(f"{URL}/{ticket.pk}").json()["total"] == "0.00"
    assert office_api.delete(lines).status_code == 405
    assert TicketLine.objects.count() == 1


@pytest.mark.parametrize(
    ("changes", "status", "pointer"),
    [
        ({"quantity": "0"}, 400, "/quantity"),
        ({"quantity": "1.005"}, 400, "/quantity"),
        ({"unit_price": "1"}, 400, "/unit_price"),
        ({"item": "00000000-0000-7000-8000-000000000000"}, 400, "/item"),
    ],
)
def test_a_line_that_cannot_be_is_refused(office_api, garden, changes, status, pointer):
    ticket, item = cast.make_ticket(garden), cast.make_price_item()
    sent = {"item": str(item.pk), "quantity": "1"} | changes
    before = row_counts()

    answer = office_api.post(f"{URL}/{ticket.pk}/lines", sent)

    assert (answer.status_code, pointers(answer)) == (status, [pointer])
    assert row_counts() == before


def test_a_retest_stands_beside_the_first_test_with_its_intervals(technician_api, visit, zone):
    ticket = cast.make_ticket(visit.property, zone=zone, state="mended", visit=visit)
    before = cast.make_catch_test(visit, zone, taken_at=BEFORE)
    after = cast.make_catch_test(visit, zone, taken_at=AFTER, du_lq=0.95)
    CupReading.objects.filter(test=after, number__lte=3).update(depth_mm=6.0)
    sent = {
        "kind": "paired_retest", "fault_is_gone": True, "visit": str(visit.pk),
        "test_before": str(before.pk), "test_after": str(after.pk),
    }  # fmt: skip

    made = technician_api.post(f"{URL}/{ticket.pk}/prove", sent)

    assert made.status_code == 201
    (told,) = technician_api.get(f"{URL}/{ticket.pk}/proofs?units=metric").json()["results"]
    change = told["before_after"]
    assert change["before"]["rate"] == {"value": 40.0, "unit": "mm/h"}
    assert change["after"]["rate_low"] == {"value": 34.0, "unit": "mm/h"}
    # Three of twelve cups caught 1 mm more in 10 min: 6 mm/h in a quarter of the cups.
    assert change["rate_change"]["value"] == {"value": 1.5, "unit": "mm/h"}
    low, high = (change["rate_change"][end]["value"] for end in ("low", "high"))
    assert low < 1.5 < high
    assert change["du_lq_change"]["value"] == pytest.approx(0.2)
    assert change["du_lq_change"]["low"] is None  # twelve cups bear no interval


def test_a_proof_by_reading_and_one_by_photo_name_what_was_seen(technician_api, visit, zone):
    ticket = cast.make_ticket(
        visit.property, zone=zone, state="mended", visit=visit, fault="weak_pressure"
    )
    sent = {"visit": str(visit.pk), "fault_is_gone": False}
    reading = {"kind": "reading", "flow_check": str(make_flow_check(visit, zone).pk)}
    photo = {"kind": "photo", "photo": str(make_photo(visit, zone).pk)}

    seen = technician_api.post(f"{URL}/{ticket.pk}/prove", sent | reading)
    unfit = technician_api.post(f"{URL}/{ticket.pk}/prove", sent | photo)

    assert (seen.status_code, seen.json()["before_after"]) == (201, None)
    assert (unfit.status_code, unfit.json()["code"]) == (409, "proof-does-not-fit")
    assert TicketProof.objects.count() == 1
    assert RepairTicket.objects.get().state == "mended"


def test_the_evidence_of_a_stranger_looks_like_none(
    technician_api, visit, zone, other_garden, outsider
):
    elsewhere = cast.make_visit_under_way(other_garden, outsider)
    strange = make_photo(elsewhere, None)
    ticket = cast.make_ticket(visit.property, zone=zone, state="mended", visit=visit)
    sent = {"kind": "photo", "fault_is_gone": True, "visit": str(visit.pk)}

    answers = [
        technician_api.post(f"{URL}/{ticket.pk}/prove", sent | {"photo": photo})
        for photo in (str(strange.pk), "00000000-0000-7000-8000-000000000000")
    ]

    assert [pointers(answer) for answer in answers] == [["/photo"], ["/photo"]]
    assert [answer.json()["errors"][0]["code"] for answer in answers] == ["does-not-exist"] * 2


def make_lines(ticket, count):
    item = cast.make_price_item(code=f"C-{ticket.pk}")
    for _ in range(count):
        cast.make_ticket_line(ticket, item=item)


def make_proofs(ticket, visit, count):
    for _ in range(count):
        tests = [cast.make_catch_test(visit, ticket.zone, taken_at=at) for at in (BEFORE, AFTER)]
        TicketProof.objects.create(
            ticket=ticket, visit=visit, kind="paired_retest", test_before=tests[0],
            test_after=tests[1], seen_at=AFTER, fault_is_gone=False, **cast.ROW,
        )  # fmt: skip


@pytest.mark.parametrize(
    ("path", "queries"),
    # Token, company (units, and day of the scope), ticket, its lines; then the rows.
    [("lines", 6), ("proofs", 8)],
)
def test_the_lists_of_a_ticket_take_as_many_queries_for_ten_as_for_one(
    technician_api, visit, zone, django_assert_num_queries, path, queries
):
    tickets = [
        cast.make_ticket(visit.property, zone=zone, state="mended", visit=visit) for _ in range(2)
    ]
    for ticket, count in zip(tickets, (1, 10), strict=True):
        make_lines(ticket, count)
        make_proofs(ticket, visit, count)

        with django_assert_num_queries(queries):
            told = technician_api.get(f"{URL}/{ticket.pk}/{path}").json()

        assert len(told["results"]) == count
