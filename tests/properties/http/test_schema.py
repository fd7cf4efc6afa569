"""What the API description says of quantities, problems and signing in."""

from __future__ import annotations

import pytest
from drf_spectacular.generators import SchemaGenerator


@pytest.fixture(scope="module")
def schema():
    return SchemaGenerator().get_schema(request=None, public=True)


def test_a_quantity_is_an_object_of_a_number_and_one_of_its_units(schema):
    pressure = schema["components"]["schemas"]["Property"]["properties"]["static_pressure"]
    inner = next(part for part in pressure.get("oneOf", [pressure]) if "properties" in part)

    assert inner["properties"]["value"] == {"type": "number"}
    assert inner["properties"]["unit"]["enum"] == ["kPa", "psi", "bar"]
    assert set(inner["required"]) == {"value", "unit"}


def test_a_list_of_quantities_names_its_length(schema):
    depths = schema["components"]["schemas"]["Zone"]["properties"]["root_depths"]
    inner = next(part for part in depths.get("oneOf", [depths]) if "properties" in part)

    assert inner["properties"]["values"] == {
        "type": "array", "items": {"type": "number"}, "minItems": 1, "maxItems": 12,
    }  # fmt: skip
    assert inner["properties"]["unit"]["enum"] == ["mm", "cm", "in"]


def test_one_signs_in_by_http_bearer_or_by_a_cookie_bound_to_the_host(schema):
    schemes = schema["components"]["securitySchemes"]

    assert schemes["bearerToken"] == {"type": "http", "scheme": "bearer"}
    assert (schemes["browserSession"]["in"], schemes["browserSession"]["name"]) == (
        "cookie", "__Host-session",
    )  # fmt: skip
    assert "X-CSRFToken" in schemes["browserSession"]["description"]
    assert len(schemes) == 2


def test_the_one_error_shape_has_the_members_of_the_standard(schema):
    """RFC 9457, section 3.1: type, status, title, detail."""
    problem = schema["components"]["schemas"]["Problem"]

    assert {"type", "title", "status", "detail"} <= set(problem["required"])
    assert {"remedy", "errors"} <= set(problem["properties"])
