"""No write drops in silence what it does not take: every serializer that reads input is strict."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any
from uuid import uuid4

import pytest
from rest_framework import serializers

from properties.http.serializers import StrictSerializer
from tests.config.access_table import TABLE
from tests.config.test_access import address, ids, people  # noqa: F401 - fixtures
from tests.writes import keyed

# A file and no JSON; its facts come in the query and are read by a strict serializer.
OTHER_BODIES = {"photos/{pk}", "weather-files", "imports"}
# Moves that take no body at all, so that nothing in it could be dropped.
WITHOUT_BODY = {"sign-out"}


def writes() -> Iterator[tuple[str, str]]:
    for route, verbs in TABLE.items():
        for verb in verbs.keys() - {"get"}:
            if route not in OTHER_BODIES | WITHOUT_BODY:
                yield verb, route


@pytest.mark.parametrize(("verb", "route"), sorted(writes()))
def test_an_unknown_field_is_refused_by_its_name_or_there_is_no_body(people, ids, verb, route):  # noqa: F811
    """A write that takes a body answers 400 with a pointer to the field that it does not know."""
    row = ids.get(route.split("/", maxsplit=1)[0])
    url = address(route, row.pk if row else "")
    headers = {"If-Match": "*", **(keyed() if needs_key(url, verb, people) else {})}

    answer = getattr(people["office"], verb)(url, {"zzz": 1}, headers=headers)

    if answer.status_code == 400 and answer.json().get("errors"):
        named = [error["pointer"] for error in answer.json()["errors"]]
        assert "/zzz" in named, (route, answer.json())
    else:
        assert not takes_a_body(route, verb), (route, answer.status_code, answer.content[:200])


def needs_key(url: str, verb: str, people: dict[str, Any]) -> bool:  # noqa: F811
    if verb != "post":
        return False
    answer = people["office"].post(url, {"zzz": 1}, headers={"If-Match": "*"})
    return answer.status_code == 400 and answer.json()["code"] == "idempotency-key-missing"


def takes_a_body(route: str, verb: str) -> bool:
    """Return whether the API description has a body for this write."""
    from drf_spectacular.generators import SchemaGenerator

    paths = _PATHS or SchemaGenerator().get_schema(request=None, public=True)["paths"]
    _PATHS.update(paths)
    operations = paths["/api/v1/" + route.replace("{pk}", "{id}")]
    return "requestBody" in operations[verb]


_PATHS: dict[str, Any] = {}


def serializers_below(kind: type[Any]) -> Iterator[type[Any]]:
    for each in kind.__subclasses__():
        yield each
        yield from serializers_below(each)


def test_every_nested_object_of_a_strict_serializer_is_strict_too():
    """What is nested is read by a serializer of its own, which must refuse the same."""
    lax = set()
    for kind in set(serializers_below(StrictSerializer)):
        if not kind.__module__.startswith(("properties", "audits", "scheduling", "reports")):
            continue
        for name, field in kind._declared_fields.items():  # type: ignore[attr-defined]
            inner = getattr(field, "child", field)
            if field.read_only or not isinstance(inner, serializers.Serializer):
                continue
            if not isinstance(inner, StrictSerializer):
                lax.add(f"{kind.__name__}.{name}")
    assert lax == set()


def test_the_id_of_nobody_changes_nothing(people):  # noqa: F811
    assert people["office"].patch(f"/api/v1/zones/{uuid4()}", {}).status_code == 404
