"""The checklist of a visit over the API."""

from __future__ import annotations

import pytest

from audits.domain.visit_checklists import CHECKLISTS, VisitKind
from tests import cast
from tests.properties import rule_rows


@pytest.mark.parametrize("kind", list(VisitKind))
def test_a_visit_has_the_list_of_its_kind_with_the_cautions_first(
    technician_api, garden, technician, kind
):
    visit = cast.make_visit(garden, technician, kind=kind)

    content = technician_api.get(f"/api/v1/visits/{visit.pk}/checklist").json()

    cautions = [item["is_caution"] for item in content["items"]]
    assert content["kind"] == kind
    assert {item["code"] for item in content["items"]} == {item.code for item in CHECKLISTS[kind]}
    assert cautions == sorted(cautions, reverse=True)
    assert all(item["sentence"].endswith(".") for item in content["items"])
    assert "Local codes" in content["binding"]


def test_who_may_read_it(office_api, technician_api, outsider_api, anonymous_api, visit):
    url = f"/api/v1/visits/{visit.pk}/checklist"

    people = (office_api, technician_api, outsider_api, anonymous_api)
    assert [api.get(url).status_code for api in people] == [200, 200, 404, 401]


def test_a_colleagues_visit_to_the_same_property_is_not_his(outsider_api, outsider, garden, visit):
    own = cast.make_visit(garden, outsider)

    assert outsider_api.get(f"/api/v1/visits/{own.pk}/checklist").status_code == 200
    assert outsider_api.get(f"/api/v1/visits/{visit.pk}/checklist").status_code == 404


def test_whoever_plans_a_visit_is_told_whether_its_day_needs_an_exemption(
    office_api, technician, garden, controller
):
    for number, kind in ((1, "spray"), (2, "rotor"), (3, "drip")):
        cast.make_zone(controller, number=number, head_kind=kind, name=kind)
    garden.watering_district = rule_rows.make_district()
    garden.save()
    rule_rows.make_rule(
        garden.watering_district, name="Even", weekdays=[3, 6], exempt_methods=["drip"]
    )
    monday, thursday = (
        cast.make_visit(garden, technician, planned_date=day)
        for day in ("2026-06-08", "2026-06-11")
    )

    def told(visit):
        return office_api.get(f"/api/v1/visits/{visit.pk}/checklist").json()["test_runs"]

    sprinklers, drip = told(monday)
    assert sprinklers.startswith(
        "Zone 1 spray and zone 2 rotor: Not on Monday 8 June 2026, by Even; it needs an exemption; "
        "next on Thursday 11 June 2026."
    )
    assert drip.startswith("Zone 3 drip: Allowed on Monday 8 June 2026.")
    assert all("Allowed on Thursday" in each for each in told(thursday))
    assert "A test outside of these days and hours needs an exemption." in told(thursday)[0]


def test_a_visit_without_zones_or_district_has_a_list_too(office_api, visit, controller):
    url = f"/api/v1/visits/{visit.pk}/checklist"
    assert office_api.get(url).json()["test_runs"] == []
    cast.make_zone(controller)

    (told,) = office_api.get(url).json()["test_runs"]

    assert told.endswith("No watering district is known for this address, so no rule is applied.")
