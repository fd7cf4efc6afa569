"""Fitted programs over the API."""

from __future__ import annotations

import pytest

from scheduling.models import ControllerProgram
from tests import cast
from tests.problems import row_counts


def make_fitted(controller, number=1):
    return ControllerProgram.objects.create(
        controller=controller, number=number, month=6, inputs={}, cost=1.5, gap=0.0,
        programs=[{
            "name": "A", "days": "Monday", "starts": ["05:00"],
            "minutes": [{"zone": str(controller.pk), "run_min": 9}],
        }],
        unmet=[{"zone_id": None, "code": "hours", "sentence": "Too few.", "cure": "Ask."}],
        settings_digest="x", **cast.ROW,
    )  # fmt: skip


@pytest.fixture
def callers(office_api, technician_api, outsider_api, anonymous_api):
    return office_api, technician_api, outsider_api, anonymous_api


def test_who_reads_what(callers, visit, controller):
    row = make_fitted(controller)
    address = f"/api/v1/controller-programs/{row.pk}"

    assert [api.get(address).status_code for api in callers] == [200, 200, 404, 401]
    body = callers[0].get(address).json()
    assert body["programs"][0]["days"] == "Monday"
    assert body["unmet"][0]["cure"] == "Ask."


def test_the_list_takes_as_many_queries_for_many(office_api, controller, django_assert_num_queries):
    make_fitted(controller)
    address = f"/api/v1/controller-programs?controller={controller.pk}"
    office_api.get(address)
    with django_assert_num_queries(3):
        office_api.get(address)
    for number in range(2, 8):
        make_fitted(controller, number)

    with django_assert_num_queries(3):
        assert len(office_api.get(address).json()["results"]) == 7


def test_only_the_office_has_them_fitted(callers, visit, controller):
    before = row_counts()
    address = f"/api/v1/controllers/{controller.pk}/fit-programs"

    answers = [api.post(address).status_code for api in callers]

    assert answers == [202, 403, 403, 401]
    assert row_counts() != before
