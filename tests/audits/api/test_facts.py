"""Facts are recorded once: the API offers no way to change or to take one back."""

from __future__ import annotations

import pytest

from audits.models import Finding, ProgramSetting, RepairTicket
from tests import cast


@pytest.fixture
def facts(visit, zone, controller):
    finding = Finding.objects.create(
        visit=visit, zone=zone, fault="leaning", severity="minor", seen_at=cast.NOW, **cast.ROW
    )
    setting = ProgramSetting.objects.create(
        controller=controller, source="found", since=cast.TODAY, **cast.ROW
    )
    ticket = RepairTicket.objects.create(
        property=visit.property, zone=zone, fault="runoff", work="-", **cast.ROW
    )
    return {
        "catch-tests": cast.make_catch_test(visit, zone),
        "findings": finding,
        "program-settings": setting,
        "repair-tickets": ticket,
        "visits": visit,
    }


CANNOT_BE_CHANGED = ["catch-tests", "findings", "program-settings"]
CANNOT_BE_DELETED = [*CANNOT_BE_CHANGED, "repair-tickets", "visits"]


@pytest.mark.parametrize(
    ("method", "path"),
    [("patch", path) for path in CANNOT_BE_CHANGED]
    + [("delete", path) for path in CANNOT_BE_DELETED],
)
def test_a_fact_cannot_be_changed(office_api, facts, path, method):
    fact = facts[path]
    before = type(fact).objects.values().get(pk=fact.pk)

    answer = getattr(office_api, method)(f"/api/v1/{path}/{fact.pk}", {})

    assert answer.status_code == 405
    assert answer["Content-Type"] == "application/problem+json"
    assert type(fact).objects.values().get(pk=fact.pk) == before


def test_a_fact_is_not_written_over_by_putting_another_under_its_id(office_api, facts):
    finding = facts["findings"]
    before = type(finding).objects.values().get(pk=finding.pk)
    body = {"visit": str(finding.visit_id), "fault": "leaning", "severity": "major"}

    answer = office_api.put(f"/api/v1/findings/{finding.pk}", body)

    assert (answer.status_code, answer.json()["code"]) == (409, "id-taken")
    assert type(finding).objects.values().get(pk=finding.pk) == before
