"""Wherever a quantity goes out, the caller may say in which units."""

from __future__ import annotations

from typing import Any

import pytest
from drf_spectacular.generators import SchemaGenerator

from tests.problems import pointers

LISTED = "?limit=1&units=imperial"


@pytest.fixture(scope="module")
def document() -> dict[str, Any]:
    made: dict[str, Any] = SchemaGenerator().get_schema(request=None, public=True)
    return made


def has_quantity(schema: Any, document: dict[str, Any], seen: frozenset[str] = frozenset()) -> bool:
    """Return whether an answer of this shape holds a number with a unit beside it."""
    if isinstance(schema, list):
        return any(has_quantity(each, document, seen) for each in schema)
    if not isinstance(schema, dict):
        return False
    name = str(schema.get("$ref", "")).rpartition("/")[2]
    if name:
        inner = document["components"]["schemas"][name]
        return name not in seen and has_quantity(inner, document, seen | {name})
    properties = schema.get("properties", {})
    if "unit" in properties and {"value", "values"} & properties.keys():
        return True
    return any(has_quantity(each, document, seen) for each in schema.values())


def reads_with_quantities(document: dict[str, Any]) -> dict[str, dict[str, Any]]:
    return {
        path: verbs["get"]
        for path, verbs in document["paths"].items()
        if "get" in verbs and has_quantity(verbs["get"]["responses"].get("200"), document)
    }


def test_every_read_that_shows_a_quantity_describes_the_units(document):
    found = reads_with_quantities(document)
    without = [
        path
        for path, operation in found.items()
        if "units" not in {each["name"] for each in operation.get("parameters", [])}
    ]

    assert len(found) > 30
    assert without == []


@pytest.mark.django_db
def test_every_list_that_shows_a_quantity_takes_the_units(document, office_api, company):
    lists = [path for path in reads_with_quantities(document) if "{" not in path]

    for path in lists:
        if path.endswith("digging-window"):
            continue
        assert pointers(office_api.get(f"{path}{LISTED}")) == ["/units"], path
    assert {"/api/v1/zones", "/api/v1/weather-days", "/api/v1/catch-tests"} <= set(lists)


def test_every_parameter_of_a_list_is_described(document):
    """What a name alone tells (a reference, a flag, a word of a field) has its schema."""
    for path, verbs in document["paths"].items():
        for parameter in verbs.get("get", {}).get("parameters", []):
            name = parameter["name"]
            if name in {"ordering", "cursor", "limit", "units", "search", "expand"}:
                assert parameter["description"], (path, name)
            if name.endswith(("_min", "_max", "_since")):
                assert parameter["description"], (path, name)
