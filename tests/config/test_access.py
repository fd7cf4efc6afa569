"""Who may do what: every address of the product, every verb, every kind of person.

The addresses come from the URL list itself: one that is missing in the table fails the test.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any
from uuid import uuid4

import pytest
from django.db import transaction
from django.test import Client
from django.urls import get_resolver

from tests.config.access_table import (
    OPEN,
    OUTSIDE_OF_THE_API,
    QUERIES,
    SCOPED,
    STAFF_READS,
    TABLE,
    VERBS,
)
from tests.config.row_ids import rows_around
from tests.conftest import pages_of


def routes(prefix: str) -> Iterator[str]:
    """Yield the addresses below a prefix as the URL list has them, ids written as {pk}."""
    (included,) = [part for part in get_resolver().url_patterns if str(part.pattern) == prefix]
    for pattern in included.url_patterns:
        yield re.sub(r"<uuid:pk>|\(\?P<pk>[^)]*\)", "{pk}", str(pattern.pattern)).strip("^$")


def test_the_table_names_every_address_of_the_api():
    assert sorted(routes("api/v1/")) == sorted(TABLE)


def test_nothing_else_is_served():
    assert {str(part.pattern) for part in get_resolver().url_patterns} == {
        *OUTSIDE_OF_THE_API, "api/v1/",
    }  # fmt: skip


@pytest.fixture
def ids(visit, zone, office, technician) -> dict[str, Any]:
    """Return the id of one row of each collection; all are of the visited garden or of nobody."""
    return rows_around(visit, zone, office, technician)


@pytest.fixture
def people(office_api, technician_api, outsider_api, anonymous_api) -> dict[str, Any]:
    return {
        "office": office_api, "technician": technician_api, "outsider": outsider_api,
        "anonymous": anonymous_api,
    }  # fmt: skip


def address(route: str, pk: Any) -> str:
    return f"/api/v1/{route}".replace("{pk}", str(pk)) + QUERIES.get(route, "")


def ask(api: Any, verb: str, url: str) -> int:
    """Return the status of the answer, and undo what it did."""
    with transaction.atomic():
        status: int = getattr(api, verb)(url, {} if verb != "get" else None).status_code
        transaction.set_rollback(True)
    return status


def expected(route: str, verb: str, person: int) -> set[int]:
    if verb in TABLE[route]:
        return {int(TABLE[route][verb].split()[person])}
    if route in OPEN:
        return {405}
    return {401} if person == 3 else {403, 405}


@pytest.mark.parametrize("route", list(routes("api/v1/")))
def test_each_person_gets_the_answer_of_the_table(people, ids, route):
    row = ids.get(route.split("/", maxsplit=1)[0])
    url = address(route, row.pk if row else "")
    wrong = {
        (verb, name): (status, allowed)
        for verb in VERBS
        for person, (name, api) in enumerate(people.items())
        if (status := ask(api, verb, url)) not in (allowed := expected(route, verb, person))
    }

    assert wrong == {}
    if route not in OPEN:
        assert people["anonymous"].options(url).status_code == 401


@pytest.mark.parametrize("route", [route for route in TABLE if "{pk}" in route])
def test_an_id_that_nobody_has_is_not_found_and_looks_like_a_strangers(people, ids, route):
    row, verb = ids[route.split("/", maxsplit=1)[0]], next(iter(TABLE[route]))
    if TABLE[route][verb].split()[0] == "400":
        return

    office = getattr(people["office"], verb)(address(route, uuid4()))
    assert office.status_code == 404
    if TABLE[route][verb].split()[2] == "404":
        stranger = getattr(people["outsider"], verb)(address(route, row.pk))
        assert stranger.json() == office.json()


def test_a_list_holds_no_row_of_a_stranger(people, ids):
    for route, row in TABLE.items():
        if (
            row.get("get") == STAFF_READS["get"]
            and SCOPED.items() <= TABLE.get(f"{route}/{{pk}}", {}).items()
        ):
            answer = people["outsider"].get(address(route, "")).json()
            assert answer["results"] == [], route


def admin_addresses() -> Iterator[str]:
    """Yield the admin addresses that need no id."""
    yield "/admin/"
    for route in routes("admin/"):
        if re.fullmatch(r"[a-z_/]+/", route) and not route.startswith(
            ("login", "logout", "jsi18n")
        ):
            yield f"/admin/{route}"


@pytest.mark.django_db
@pytest.mark.parametrize("url", list(admin_addresses()))
def test_the_admin_pages_let_nobody_in_but_the_office(technician, url):
    for client in (Client(), pages_of(technician)):
        answer = client.get(url)
        refused = answer.status_code in (302, 405)
        assert refused, (url, answer.status_code)
        if answer.status_code == 302:
            assert "/admin/login/" in answer["Location"]
