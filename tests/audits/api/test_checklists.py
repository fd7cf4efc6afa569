"""The checklist of a visit over the API."""

from __future__ import annotations

import pytest

from audits.domain.visit_checklists import CHECKLISTS, VisitKind
from tests import cast


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
