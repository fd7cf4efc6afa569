"""Where the heads of a zone stand, over the API."""

from __future__ import annotations

import pytest

from properties.models import HeadGroup
from tests import cast
from tests.audits import field_rows

FT_M, IN_M = 0.3048, 0.0254


@pytest.fixture
def strip(controller):
    zone = cast.make_zone(
        controller, number=4, head_spacing_m=15 * FT_M, strip_width_m=36 * IN_M,
        is_bounded_by_paving=True, least_paving_gap_m=2 * IN_M,
    )  # fmt: skip
    cast.make_heads(zone, rated_pressure_kpa=200.0, throw_m=15 * FT_M)
    return zone


@pytest.fixture
def ask(technician_api, visit):
    def get(zone, query=""):
        answer = technician_api.get(f"/api/v1/zones/{zone.pk}/placement{query}")
        assert answer.status_code == 200, answer.json()
        return answer.json()

    return get


def test_each_thing_has_its_verdict_its_cure_and_the_rule(ask, strip, visit):
    field_rows.make_flow_check(visit, strip)  # 200 kPa

    body = ask(strip)

    found = {check["topic"]: check for check in body["checks"]}
    verdicts = {topic: check["verdict"] for topic, check in found.items()}
    assert verdicts == {"spacing": "ok", "narrow_strip": "not_ok", "gap_to_paving": "not_ok"}
    assert found["spacing"]["head_group"] == str(HeadGroup.objects.get().pk)
    assert found["narrow_strip"]["head_group"] is None
    assert "drip" in found["narrow_strip"]["remedy"]
    assert body["rule"] == "30 TAC 344.62"
    assert "local rules may differ" in body["caution"]
    assert body["least_spray_strip"] == {"value": 4, "unit": "ft"}  # 48 in
    assert body["running_pressure"]["unit"] == "psi"


def test_the_pressure_found_decides_whether_the_throw_stands(ask, strip, visit):
    assert ask(strip)["checks"][0]["verdict"] == "ok"

    field_rows.make_flow_check(visit, strip, running_kpa=120.0)

    weak = ask(strip, "?units=metric")
    assert weak["checks"][0]["verdict"] == "unknown"
    assert weak["running_pressure"] == {"value": 120, "unit": "kPa"}


def test_of_a_bare_zone_all_is_unknown_with_a_cure(ask, zone):
    checks = ask(zone)["checks"]

    assert {check["verdict"] for check in checks} == {"unknown"}
    assert all(check["remedy"] for check in checks)


def test_the_office_enters_the_lengths(office_api, controller):
    body = {
        "property": str(controller.property_id), "number": 8, "name": "Strip",
        "head_kind": "spray", "plant_type": "cool_turf", "soil_texture": "loam",
        "exposure": "full_sun", "is_bounded_by_paving": True,
        "strip_width": {"value": 3, "unit": "ft"},
        "least_paving_gap": {"value": 0.25, "unit": "ft"},
    }  # fmt: skip

    made = office_api.post("/api/v1/zones", body)

    assert made.status_code == 201, made.json()
    assert made.json().items() >= body.items()


def test_who_may_ask(callers, visit, strip):
    url = f"/api/v1/zones/{strip.pk}/placement"

    assert [api.get(url).status_code for api in callers] == [200, 200, 404, 401]
