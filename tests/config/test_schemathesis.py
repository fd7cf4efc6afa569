"""Requests made up from the API's description, sound and unsound, for every operation.

`SCHEMA_EXAMPLES` says how many for each operation; each is sent by the office, by a technician and
by a technician who has no visit there, and undone. By hand, with others each time:
`SCHEMA_EXAMPLES=200 make test ARGS="tests/config/test_schemathesis.py"`.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
import schemathesis
import time_machine
import yaml
from django.core.wsgi import get_wsgi_application
from django.db import connection, transaction
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from schemathesis import Case, GenerationMode
from schemathesis.checks import CHECKS, load_all_checks

from properties.models import Event, Job, StaffMember
from properties.services.sign_in import issue_token
from tests import cast
from tests.config.row_ids import rows_by_collection

pytestmark = pytest.mark.django_db
EXAMPLES = int(os.environ.get("SCHEMA_EXAMPLES", "3"))
DOCUMENT = Path(__file__).resolve().parents[2] / "config" / "openapi.yaml"
CHECKED = (
    "not_a_server_error", "content_type_conformance", "response_headers_conformance",
    "response_schema_conformance", "negative_data_rejection", "status_code_conformance",
)  # fmt: skip
# Any address may answer these; the description names them by `default`.
UNNAMED = {405, 406, 503}
# Fields that name a row of another collection than that of their own name.
NAMED_OTHERWISE = {
    "property": "properties", "technician": "staff", "test": "catch-tests",
    "ticket": "repair-tickets", "district": "watering-districts", "stage": "drought-stages",
    "item": "price-items", "station": "weather-stations", "subject_id": "properties",
}  # fmt: skip

load_all_checks()
SCHEMA = schemathesis.openapi.from_dict(yaml.safe_load(DOCUMENT.read_text()))
SCHEMA.app = get_wsgi_application()
CHECKS_ON = CHECKS.get_by_names(list(CHECKED))
OPERATIONS = {
    f"{result.ok().method.upper()} {result.ok().path}": result.ok()
    for result in SCHEMA.get_all_operations()
}


@pytest.fixture(scope="module")
def garden(django_db_setup: None, django_db_blocker: Any) -> Iterator[dict[str, Any]]:
    """One small company with a row in each collection, once for all examples of a worker."""
    with django_db_blocker.unblock(), time_machine.travel(cast.NOW, tick=False):
        connection.ensure_connection()
        with transaction.atomic():
            yield _populate()
            transaction.set_rollback(True)


def _populate() -> dict[str, Any]:
    cast.make_company()
    office = cast.make_office()
    technician = cast.make_technician()
    stranger = cast.make_technician("olga@meadowlark.example", name="Olga")
    rows = rows_by_collection(office, technician)
    people = {"office": office, "technician": technician, "stranger": stranger}
    return {
        "ids": {name: str(row.pk) for name, row in rows.items()},
        "tokens": {name: _token(member) for name, member in people.items()},
    }


def _token(member: StaffMember) -> str:
    return issue_token(member, label="test", actor=member, now=cast.NOW)[1]


@pytest.mark.parametrize("name", list(OPERATIONS))
def test_every_made_up_request_is_answered_as_described(garden, name):
    operation = OPERATIONS[name]

    @settings(
        max_examples=EXAMPLES, deadline=None, database=None, derandomize=EXAMPLES < 100,
        suppress_health_check=list(HealthCheck), phases=[Phase.generate],
    )  # fmt: skip
    @given(case=cases(operation), is_known=st.sampled_from([True, True, False]))
    def ask(case: Case, is_known: bool) -> None:
        if is_known and is_sound(case):
            take_known_rows(case, garden["ids"])
        for token in garden["tokens"].values():
            with transaction.atomic():
                answer = case.call(headers={"Authorization": f"Bearer {token}"})
                transaction.set_rollback(True)
            case.validate_response(answer, checks=checks_of(case, answer.status_code))
            named = {int(one) for one in operation.definition.raw["responses"] if one.isdigit()}
            assert answer.status_code in named | UNNAMED, (answer.status_code, answer.text)

    ask()


def cases(operation: Any) -> st.SearchStrategy[Case]:
    """Return sound and unsound requests; no bytes of a picture are unsound by the description."""
    sound = operation.as_strategy(generation_mode=GenerationMode.POSITIVE)
    kinds = [body.media_type for body in operation.body]
    if any(kind.startswith("image/") for kind in kinds) or not (
        kinds or list(operation.iter_parameters())
    ):
        return sound
    return sound | operation.as_strategy(generation_mode=GenerationMode.NEGATIVE)


def checks_of(case: Case, status: int) -> list[Any]:
    """Return what to check of an answer.

    Whether the unsound is refused is not asked of bytes of a picture, which all are sound by the
    description; of `limit`, which asks for the usual page when it is odd; of a change, which may
    be empty; and where an If-Match that was made up is refused before the body is read.
    """
    is_picture = str(case.media_type).startswith("image/")
    if is_picture or "limit" in (case.query or {}) or case.method == "PATCH" or status == 412:
        return [check for check in CHECKS_ON if check.__name__ != "negative_data_rejection"]
    return CHECKS_ON


def is_sound(case: Case) -> bool:
    return case.meta is None or case.meta.generation.mode is GenerationMode.POSITIVE


def take_known_rows(case: Case, ids: dict[str, str]) -> None:
    """Put ids of rows that are there in the place of made-up ones, so that more is reached."""
    collection = case.path.removeprefix("/api/v1/").split("/")[0]
    if "id" in (case.path_parameters or {}) and collection in ids and case.method != "PUT":
        case.path_parameters["id"] = ids[collection]
    if "If-Match" in (case.headers or {}):
        case.headers["If-Match"] = "*"
    case.body = with_known_rows(case.body, "", ids)
    case.query = with_known_rows(case.query, "", ids)


def with_known_rows(content: Any, name: str, ids: dict[str, str]) -> Any:
    if isinstance(content, dict):
        return {key: with_known_rows(inner, key, ids) for key, inner in content.items()}
    if isinstance(content, list):
        return [with_known_rows(inner, name, ids) for inner in content]
    collection = NAMED_OTHERWISE.get(name, name.replace("_", "-") + "s")
    return ids[collection] if collection in ids and is_id(content) else content


def is_id(content: Any) -> bool:
    try:
        UUID(str(content))
    except ValueError:
        return False
    return True


def test_the_rows_of_the_examples_are_there(garden):
    assert Job.objects.exists()
    assert Event.objects.exists()
    assert len(OPERATIONS) > 270
