"""A list of twenty rows costs as many queries as a list of one."""

from __future__ import annotations

from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from properties.models import Job
from properties.services.events import record_event
from tests import cast
from tests.properties.api.bodies import API


def _garden(number, technician):
    garden = cast.make_property(cast.make_customer(reference=f"R-{number}"))
    cast.make_visit(garden, technician)
    controller = cast.make_controller(garden)
    cast.make_heads(cast.make_zone(controller))
    cast.make_technician(f"t{number}@meadowlark.example", name="T")
    record_event(garden, act="seen", actor=technician, now=cast.NOW)
    values = {"kind": "t", "created_at": cast.NOW, "due_at": cast.NOW}
    Job.objects.create(subject_id=uuid4(), asked_by=technician, **values)


LISTS = [
    ("office", path)
    for path in (
        "staff", "customers", "properties", "controllers", "zones", "head-groups", "events", "jobs",
    )
] + [
    ("technician", path) for path in ("properties", "controllers", "zones", "head-groups", "jobs")
]  # fmt: skip


@pytest.mark.parametrize(("who", "path"), LISTS)
def test_the_number_of_queries_of_a_list_is_constant(
    office_api, technician_api, technician, who, path
):
    api = {"office": office_api, "technician": technician_api}[who]

    def cost() -> tuple[int, int]:
        with CaptureQueriesContext(
            connection,
        ) as queries:
            rows = api.get(f"{API}/{path}", {"limit": 100}).json()["results"]
        return len(queries), len(rows)

    _garden(0, technician)
    few, first_rows = cost()
    for number in range(1, 21):
        _garden(number, technician)
    many, rows = cost()

    assert rows >= first_rows + 20
    assert many == few
    assert many <= 5
