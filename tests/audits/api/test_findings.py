"""Findings and tickets over the API."""

from __future__ import annotations

import pytest

from audits.models import Finding, RepairTicket
from tests import cast
from tests.problems import pointers, row_counts

URL = "/api/v1/findings"
TICKETS = "/api/v1/repair-tickets"


def body(visit, zone=None, **changes):
    place = {"zone": str(zone.pk)} if zone else {}
    fault = {"fault": "leaning", "severity": "major"}
    return {"visit": str(visit.pk), **place, **fault, **changes}


def test_a_finding_comes_back_as_it_was_recorded(technician_api, visit, zone):
    sent = body(visit, zone, count=3, where="third along the walk", note="Dry wedge behind.")

    made = technician_api.post(URL, sent)

    assert made.status_code == 201
    content = technician_api.get(f"{URL}/{made.json()['id']}").json()
    assert content == made.json()
    assert content.items() >= sent.items()
    assert (content["ticket"], content["seen_at"]) == (None, "2026-06-10T15:00:00Z")


def test_after_the_end_of_the_visit_the_finding_names_its_ticket(
    technician_api, office_api, visit, zone
):
    made = technician_api.post(URL, body(visit, zone)).json()
    technician_api.post(f"/api/v1/visits/{visit.pk}/finish")

    ticket = technician_api.get(f"{URL}/{made['id']}").json()["ticket"]

    (found,) = office_api.get(f"{TICKETS}?property={visit.property_id}&state=open").json()[
        "results"
    ]
    assert found["id"] == ticket
    assert (found["zone"], found["fault"], found["state"]) == (str(zone.pk), "leaning", "open")
    assert found["work"] == "Set the head upright and firm the soil."


@pytest.mark.parametrize(
    ("changes", "where"),
    [
        ({"fault": "haunted"}, "/fault"),
        ({"severity": "grave"}, "/severity"),
        ({"count": 0}, "/count"),
        ({"seen_at": "2026-06-12T15:00:00Z"}, "/seen_at"),
        ({"where": "x" * 201}, "/where"),
        ({"ticket_number": 1}, "/ticket_number"),
    ],
)
def test_a_finding_that_cannot_be_is_refused(technician_api, visit, zone, changes, where):
    before = row_counts()

    answer = technician_api.post(URL, body(visit, zone, **changes))

    assert (answer.status_code, pointers(answer)) == (400, [where])
    assert row_counts() == before


def test_who_may_record_and_read_findings(outsider_api, anonymous_api, office_api, visit, zone):
    made = office_api.post(URL, body(visit, zone)).json()

    assert outsider_api.post(URL, body(visit, zone)).status_code == 400
    assert outsider_api.get(f"{URL}/{made['id']}").status_code == 404
    assert outsider_api.get(URL).json()["results"] == []
    assert anonymous_api.get(URL).status_code == 401
    assert Finding.objects.count() == 1


def test_who_may_open_and_read_tickets(
    office_api, technician_api, outsider_api, anonymous_api, visit, garden
):
    sent = {"property": str(garden.pk), "fault": "wiring"}

    assert technician_api.post(TICKETS, sent).status_code == 403
    made = office_api.post(TICKETS, sent)

    assert (made.status_code, made.json()["work"]) == (201, "Find and mend the field wire.")
    address = f"{TICKETS}/{made.json()['id']}"
    assert technician_api.get(address).status_code == 200
    assert outsider_api.get(address).status_code == 404
    assert anonymous_api.get(address).status_code == 401


@pytest.mark.parametrize("has_zone", [True, False])
def test_a_second_live_ticket_is_refused_at_the_fault(office_api, garden, zone, has_zone):
    place = {"zone": str(zone.pk)} if has_zone else {}
    sent = {"property": str(garden.pk), "fault": "wiring", **place}
    office_api.post(TICKETS, sent)
    before = row_counts()

    answer = office_api.post(TICKETS, sent)

    assert (answer.status_code, pointers(answer)) == (400, ["/fault"])
    assert row_counts() == before


def test_a_ticket_for_a_zone_elsewhere_is_refused(office_api, other_garden, zone):
    sent = {"property": str(other_garden.pk), "zone": str(zone.pk), "fault": "runoff"}

    answer = office_api.post(TICKETS, sent)

    assert (answer.status_code, pointers(answer)) == (400, ["/zone"])
    assert not RepairTicket.objects.exists()


@pytest.mark.parametrize(("address", "queries"), [(URL, 4), (TICKETS, 5)])
def test_the_lists_take_as_many_queries_for_ten_as_for_one(
    technician_api, visit, controller, address, queries, django_assert_num_queries
):
    """Token, company (units, and day of the scope), rows; of tickets also the lines."""

    def add(number):
        zone = cast.make_zone(controller, number=number)
        ticket = RepairTicket.objects.create(
            property=visit.property, zone=zone, fault="leaning", work="-", **cast.ROW
        )
        Finding.objects.create(
            visit=visit, zone=zone, fault="leaning", severity="minor", seen_at=cast.NOW,
            ticket=ticket, **cast.ROW,
        )  # fmt: skip

    add(1)
    with django_assert_num_queries(queries):
        technician_api.get(address)
    for number in range(2, 11):
        add(number)

    with django_assert_num_queries(queries):
        assert len(technician_api.get(address).json()["results"]) == 10
