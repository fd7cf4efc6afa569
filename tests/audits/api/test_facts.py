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


@pytest.mark.parametrize("method", ["put", "patch", "delete"])
@pytest.mark.parametrize(
    "path", ["catch-tests", "findings", "program-settings", "repair-tickets", "visits"]
)
def test_a_fact_cannot_be_changed(office_api, facts, path, method):
    fact = facts[path]
    before = type(fact).objects.values().get(pk=fact.pk)

    answer = getattr(office_api, method)(f"/api/v1/{path}/{fact.pk}", {})

    assert answer.status_code == 405
    assert answer["Content-Type"] == "application/problem+json"
    assert type(fact).objects.values().get(pk=fact.pk) == before
