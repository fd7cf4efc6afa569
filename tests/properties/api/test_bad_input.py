"""Bad input is refused by its pointer, a code, and words that say what would be right."""

from __future__ import annotations

import json
from uuid import uuid4

import pytest

from tests import cast
from tests.problems import row_counts
from tests.properties.api.bodies import API

UNKNOWN = str(uuid4())
# collection, what is changed in the valid body, pointer, code, words of remedy
BAD = [
    ("customers", {"name": ""}, "/name", "blank", "may not be blank"),
    ("customers", {"name": None}, "/name", "null", "may not be null"),
    ("customers", {"name": "x" * 201}, "/name", "max-length", "no more than 200"),
    ("customers", {"email": "nowhere"}, "/email", "invalid", "valid email"),
    ("customers", {"relation": "aunt"}, "/relation", "invalid-choice", "Use one of: "),
    ("customers", {"units": "cubits"}, "/units", "invalid-choice", "Use one of: "),
    ("customers", {"language": "xx"}, "/language", "invalid-choice", "Use one of: "),
    ("customers", {"nmae": "x"}, "/nmae", "unknown-field", "Fields: id, name"),
    ("customers", {"revision": 9}, "/revision", "unknown-field", "cannot be set here"),
    ("customers", {"id": "x"}, "/id", "invalid", "valid UUID"),
    ("customers", {"id": None}, "/id", "null", "may not be null"),
    ("customers", {"name": "\x00"}, "/name", "null-characters-not-allowed", "Null characters"),
    ("customers", {"name": "\ud800"}, "/name", "surrogate-characters-not-allowed", "Surrogate"),
    ("customers", {"\ud800": 1}, "/\ud800", "unknown-field", "Fields: id, name"),
    ("customers", {"a/b~c": 1}, "/a~1b~0c", "unknown-field", "Fields: id, name"),
    ("properties", {"customer": UNKNOWN}, "/customer", "does-not-exist", "does not exist"),
    ("properties", {"latitude": 91}, "/latitude", "invalid", "between -90 and 90"),
    ("properties", {"latitude": "nan"}, "/latitude", "invalid", "valid number"),
    ("properties", {"latitude": None}, "/latitude", "invalid", "both latitude and longitude"),
    ("properties", {"time_zone": "Tallgrass"}, "/time_zone", "invalid", "America/Chicago"),
    ("properties", {"water_source": "sea"}, "/water_source", "invalid-choice", "Use one of: "),
    ("properties", {"water_price_per_m3": "-1"}, "/water_price_per_m3", "invalid", "between 0"),
    ("properties", {"static_pressure": 60}, "/static_pressure", "shape", '"unit": "psi"'),
    (
        "properties", {"static_pressure": {"value": 1, "unit": "mm"}}, "/static_pressure",
        "wrong-unit", "Use one of: kPa, psi, bar.",
    ),
    (
        "properties", {"static_pressure": {"value": 1, "unit": "\ud800"}}, "/static_pressure",
        "wrong-unit", "Use one of: kPa, psi, bar.",
    ),
    (
        "properties", {"static_pressure": {"value": 10**400, "unit": "psi"}}, "/static_pressure",
        "out-of-range", "a number from 0 to 362.594 psi",
    ),
    (
        "properties", {"available_flow": {"value": -1, "unit": "gpm"}}, "/available_flow",
        "out-of-range", "a number from 0 to",
    ),
    (
        "properties", {"elevation": {"value": "9", "unit": "m"}}, "/elevation", "number",
        "must be a number",
    ),
    ("controllers", {"property": UNKNOWN}, "/property", "does-not-exist", "does not exist"),
    ("controllers", {"minute_step": 31}, "/minute_step", "invalid", "between 1 and 30"),
    ("controllers", {"program_count": -1}, "/program_count", "min-value", "greater than or equal"),
    ("controllers", {"minute_step": 1.5}, "/minute_step", "invalid", "valid integer"),
    ("controllers", {"name": "Garage"}, "/name", "invalid", "controller of that name"),
    ("zones", {"number": 0}, "/number", "invalid", "between 1 and 200"),
    ("zones", {"number": 1}, "/number", "invalid", "has a zone of that number"),
    ("zones", {"controller": UNKNOWN}, "/controller", "does-not-exist", "does not exist"),
    ("zones", {"exposure": ""}, "/exposure", "invalid", "an exposure or a microclimate factor"),
    ("zones", {"microclimate_factor": 1.1}, "/exposure", "invalid", "one of them"),
    ("zones", {"min_days_between": 20}, "/max_days_between", "invalid", "not be under"),
    ("zones", {"area": {"value": 0, "unit": "m2"}}, "/area", "invalid", "square metres"),
    ("zones", {"slope_percent": 101}, "/slope_percent", "invalid", "between 0 and 100"),
    ("zones", {"plant_type": "moss"}, "/plant_type", "invalid-choice", "Use one of: "),
    (
        "zones", {"root_depths": {"unit": "in", "values": [6, 6]}}, "/root_depths/values",
        "invalid", "one depth or twelve",
    ),
    (
        "zones", {"root_depths": {"unit": "mm", "values": [1]}}, "/root_depths", "invalid",
        "between 25 and 3,000 mm",
    ),
    (
        "zones", {"root_depths": {"unit": "mm", "values": [150, "x"]}}, "/root_depths/values/1",
        "number", "must be a number",
    ),
    (
        "zones", {"root_depths": {"unit": "mm", "values": []}}, "/root_depths", "count",
        "from 1 to 12 values",
    ),
    ("head-groups", {"count": 0}, "/count", "invalid", "between 1 and 2,000"),
    ("head-groups", {"rated_flow": None}, "/rated_flow", "null", "may not be null"),
    ("head-groups", {"arc_deg": 361}, "/arc_deg", "invalid", "between 1 and 360"),
    (
        "head-groups", {"throw": {"value": 0, "unit": "m"}}, "/throw", "invalid", "metres",
    ),
]  # fmt: skip
REQUIRED = [
    ("customers", "name"),
    ("properties", "customer"),
    ("properties", "street"),
    ("controllers", "property"),
    ("zones", "head_kind"),
    ("zones", "number"),
    ("head-groups", "rated_flow"),
    ("head-groups", "zone"),
]


def post(api, path, body):
    """Post JSON as a client could, lone surrogates and huge numbers included."""
    return api.generic("POST", f"{API}/{path}", json.dumps(body), content_type="application/json")


@pytest.mark.parametrize("case", BAD)
def test_bad_input_is_refused_where_it_is_wrong(office_api, body_of, case):
    path, change, pointer, code, words = case
    before = row_counts()

    answer = post(office_api, path, {**body_of[path], **change})

    assert answer.status_code == 400, answer.json()
    problem = answer.json()
    assert problem["type"] == "/problems/invalid-value"
    (error,) = problem["errors"]
    assert (error["pointer"], error["code"]) == (pointer, code)
    assert words in error["detail"]
    assert row_counts() == before


@pytest.mark.parametrize(("path", "field"), REQUIRED)
def test_a_missing_field_is_named(office_api, body_of, path, field):
    body = {name: value for name, value in body_of[path].items() if name != field}

    (error,) = post(office_api, path, body).json()["errors"]

    assert (error["pointer"], error["code"]) == (f"/{field}", "required")


def test_all_that_is_wrong_is_told_at_once(office_api, body_of):
    problem = post(office_api, "zones", {**body_of["zones"], "number": "x", "area": 3}).json()

    assert problem["detail"] == "2 fields must be put right."
    assert {error["pointer"] for error in problem["errors"]} == {"/number", "/area"}


def test_a_controller_of_another_property_is_named_with_a_remedy(office_api, body_of, other_garden):
    foreign = cast.make_controller(other_garden)

    problem = post(office_api, "zones", {**body_of["zones"], "controller": str(foreign.pk)}).json()

    (error,) = problem["errors"]
    assert error["pointer"] == "/controller"
    assert error["remedy"] == "Choose a controller of the zone's own property."


def test_a_reference_is_given_to_one_client(office_api, body_of):
    post(office_api, "customers", body_of["customers"])

    (error,) = post(office_api, "customers", body_of["customers"]).json()["errors"]

    assert error["pointer"] == "/reference"


@pytest.mark.parametrize("body", ["[]", "3", '"text"', "null", "", "{", "\xff", '{"name": NaN}'])
def test_what_is_no_json_object_is_refused(office_api, company, body):
    answer = office_api.generic(
        "POST", f"{API}/customers", body.encode("latin-1"), content_type="application/json"
    )

    assert answer.status_code == 400
    assert answer["Content-Type"] == "application/problem+json"


def test_a_form_is_refused(office_api, company):
    answer = office_api.post(f"{API}/customers", "name=x", content_type="text/plain")

    assert answer.status_code == 415
    assert answer["Content-Type"] == "application/problem+json"
