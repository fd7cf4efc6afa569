"""The price list over the API."""

from __future__ import annotations

import pytest

from audits.models import PriceItem
from properties.models import Event
from tests import cast, writes
from tests.problems import pointers, row_counts

URL = "/api/v1/price-items"
NOZZLE = {"code": "NZ-1", "name": "Nozzle", "kind": "part", "unit": "piece", "price": "4.25"}


def test_the_office_lists_an_item_and_reads_it_back(office_api):
    made = office_api.post(URL, NOZZLE)

    assert made.status_code == 201
    assert made.json().items() >= (NOZZLE | {"is_active": True}).items()
    assert office_api.get(URL).json()["results"] == [made.json()]
    assert Event.objects.get(act="listed").subject_id == PriceItem.objects.get().pk


def test_nobody_else_reads_or_writes_prices(technician_api, anonymous_api):
    for api, status in ((technician_api, 403), (anonymous_api, 401)):
        assert api.get(URL).status_code == api.post(URL, NOZZLE).status_code == status
    assert not PriceItem.objects.exists()


@pytest.mark.parametrize(
    ("changes", "pointer"),
    [
        ({"price": "-1"}, "/price"),
        ({"price": "4.255"}, "/price"),
        ({"price": "NaN"}, "/price"),
        ({"kind": "favour"}, "/kind"),
        ({"code": "TAKEN"}, "/code"),
    ],
)
def test_an_item_that_cannot_be_is_refused(office_api, changes, pointer):
    cast.make_price_item(code="TAKEN")
    before = row_counts()

    answer = office_api.post(URL, NOZZLE | changes)

    assert (answer.status_code, pointers(answer)) == (400, [pointer])
    assert row_counts() == before


def test_the_list_takes_as_many_queries_for_ten_as_for_one(office_api, django_assert_num_queries):
    cast.make_price_item(code="C-0")
    queries = 3  # token, company, rows
    with django_assert_num_queries(queries):
        office_api.get(URL)
    for number in range(1, 10):
        cast.make_price_item(code=f"C-{number}")

    with django_assert_num_queries(queries):
        assert len(office_api.get(URL).json()["results"]) == 10


# Changing and retiring


@pytest.fixture
def item(company):
    item = cast.make_price_item()
    item.refresh_from_db()
    return item


def patch(api, item, body, *, revision=None):
    return writes.patch(api, f"{URL}/{item.pk}", body, revision=revision)


def test_a_changed_item_tells_before_and_after(office_api, office, item):
    answer = patch(office_api, item, {"name": "Brass nozzle", "price": "4.80", "unit": "pair"})

    assert answer.status_code == 200
    changed = {"name": "Brass nozzle", "price": "4.80", "unit": "pair", "revision": 2}
    assert answer.json().items() >= (NOZZLE | changed).items()
    assert office_api.get(f"{URL}/{item.pk}").json() == answer.json()
    event = Event.objects.get(subject_id=item.pk)
    assert (event.act, event.actor) == ("changed", office)
    assert event.before == {"name": "Nozzle", "price": "4.25", "unit": "piece"}
    assert event.after == {"name": "Brass nozzle", "price": "4.80", "unit": "pair"}


def test_a_retired_item_goes_on_no_new_line_until_it_is_back(office_api, garden, item):
    ticket = cast.make_ticket(garden)
    lines, sent = f"/api/v1/repair-tickets/{ticket.pk}/lines", {"item": str(item.pk), "quantity": 1}

    patch(office_api, item, {"is_active": False})
    refused = office_api.post(lines, sent)
    patch(office_api, item, {"is_active": True})
    taken = office_api.post(lines, sent)

    assert (refused.status_code, pointers(refused)) == (409, ["/item"])
    assert refused.json()["code"] == "item-retired"
    assert taken.status_code == 201
    acts = Event.objects.filter(subject_id=item.pk).values_list("act", flat=True)
    assert sorted(acts) == ["changed", "retired"]


def test_lines_keep_their_price_and_their_words(office_api, garden, item):
    ticket = cast.make_ticket(garden)
    lines = f"/api/v1/repair-tickets/{ticket.pk}/lines"
    old = office_api.post(lines, {"item": str(item.pk), "quantity": "2"}).json()

    dearer = patch(office_api, item, {"price": "9.99", "is_active": False})
    renamed = [
        patch(office_api, item, {word: "other", "price": "1.00"}) for word in ("name", "unit")
    ]

    assert dearer.status_code == 200
    assert [(answer.status_code, *pointers(answer)) for answer in renamed] == [
        (409, "/name"), (409, "/unit"),
    ]  # fmt: skip
    assert renamed[0].json()["code"] == "item-on-tickets"
    assert str(PriceItem.objects.get().price) == "9.99"
    assert office_api.get(lines).json()["results"] == [old]
    quotes = b"".join(office_api.get("/api/v1/repair-tickets/quotes.csv").streaming_content)
    assert b"Nozzle,part,piece,2.00,4.25,8.50" in quotes


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        ({"price": "-1"}, "/price"),
        ({"price": "4.255"}, "/price"),
        ({"price": None}, "/price"),
        ({"name": " "}, "/name"),
        ({"unit": "x" * 21}, "/unit"),
        ({"is_active": "perhaps"}, "/is_active"),
        ({"code": "NZ-2"}, "/code"),
        ({"kind": "labour"}, "/kind"),
        ({"hat": "red"}, "/hat"),
        ({"revision": 0}, "/revision"),
    ],
)
def test_a_change_that_cannot_be_is_refused(office_api, item, body, pointer):
    before = row_counts(), PriceItem.objects.values().get()

    answer = patch(office_api, item, {"name": "Other"} | body)

    assert (answer.status_code, pointers(answer)) == (400, [pointer])
    assert (row_counts(), PriceItem.objects.values().get()) == before


def test_a_change_read_before_somebody_elses_is_not_written_over_his(office_api, item):
    first = patch(office_api, item, {"price": "5.00"}, revision=1)
    second = patch(office_api, item, {"price": "6.00"}, revision=1)
    same = patch(office_api, item, {"price": "5.00"}, revision=1)

    assert (first.status_code, second.status_code, same.status_code) == (200, 412, 412)
    assert second.json()["code"] == "changed-meanwhile"
    assert str(PriceItem.objects.get().price) == "5.00"


def test_what_is_the_same_already_is_no_change(office_api, item):
    for body in ({}, {"price": "4.25"}, {"name": "Nozzle"}):
        answer = patch(office_api, item, body, revision=1)
        assert (answer.status_code, answer.json()["revision"]) == (200, 1)

    assert not Event.objects.filter(subject_id=item.pk).exists()


def test_nobody_else_changes_prices(technician_api, outsider_api, anonymous_api, item):
    people = ((technician_api, 403), (outsider_api, 403), (anonymous_api, 401))
    for api, status in people:
        assert patch(api, item, {"price": "0"}, revision=1).status_code == status
    assert str(PriceItem.objects.get().price) == "4.25"


def test_an_unknown_item_is_not_found_and_none_is_put_or_deleted(office_api, item):
    unknown = office_api.patch(f"{URL}/00000000-0000-7000-8000-000000000000", {"price": "1"})

    assert unknown.status_code == 404
    assert office_api.put(f"{URL}/{item.pk}", NOZZLE).status_code == 409
    assert office_api.delete(f"{URL}/{item.pk}").status_code == 405
