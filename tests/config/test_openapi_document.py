"""The committed API description is the one that the code makes, and says what it must."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
import yaml
from openapi_schema_validator import OAS31Validator, oas31_format_checker
from openapi_spec_validator import OpenAPIV31SpecValidator

from config.problem_types import title_of
from properties.http.schema_values import PROBLEM_BODIES
from tests.config.access_table import TABLE

DOCUMENT = Path(__file__).resolve().parents[2] / "config" / "openapi.yaml"
VERBS = {"get", "post", "put", "patch", "delete"}


@pytest.fixture(scope="module")
def document() -> dict[str, Any]:
    loaded: dict[str, Any] = yaml.safe_load(DOCUMENT.read_text())
    return loaded


def operations(document: dict[str, Any]) -> dict[str, dict[str, Any]]:
    return {
        f"{verb} {path}": operation
        for path, verbs in document["paths"].items()
        for verb, operation in verbs.items()
        if verb in VERBS
    }


def test_the_committed_document_is_what_the_code_makes(tmp_path):
    """Made on SQLite, as `make schema` does: the widths of integers differ between databases."""
    made = tmp_path / "openapi.yaml"
    env = {name: value for name, value in os.environ.items() if name != "DATABASE_URL"}
    options = ["--validate", "--fail-on-warn", "--file", str(made)]

    subprocess.run(
        [sys.executable, "manage.py", "spectacular", *options],
        cwd=DOCUMENT.parents[1], env={**env, "VAR_DIR": str(tmp_path)}, check=True,
    )  # fmt: skip

    assert made.read_text() == DOCUMENT.read_text(), "run `make schema` and read the difference"


def test_it_is_a_valid_document_of_version_3_1(document):
    assert document["openapi"].startswith("3.1")
    assert list(OpenAPIV31SpecValidator(document).iter_errors()) == []


def test_all_but_signing_in_needs_a_token(document):
    open_to_all = {
        name
        for name, operation in operations(document).items()
        if operation.get("security") != [{"bearerToken": []}, {"browserSession": []}]
    }

    assert open_to_all == {
        "post /api/v1/sign-in", "get /api/v1/session", "post /api/v1/session",
        "post /api/v1/second-factor", "post /api/v1/second-factor/confirm",
    }  # fmt: skip
    for name in open_to_all:
        assert not operations(document)[name].get("security")


def resolved(document: dict[str, Any], answer: dict[str, Any]) -> dict[str, Any]:
    """Return an answer, or the one that it refers to."""
    if "$ref" not in answer:
        return answer
    named: dict[str, Any] = document["components"]["responses"][answer["$ref"].split("/")[-1]]
    return named


def test_every_operation_answers_problems_in_the_one_shape(document):
    for name, operation in operations(document).items():
        problems = {status for status in operation["responses"] if status[0] not in "23"}
        for status in problems:
            answer = resolved(document, operation["responses"][status])
            (kind,) = answer["content"]
            assert kind == "application/problem+json", (name, status)
            assert answer["content"][kind]["schema"] == {"$ref": "#/components/schemas/Problem"}
        assert {"400", "401", "429", "default"} <= problems, name
        is_guarded = operation.get("security") or name == "post /api/v1/session"
        assert ("403" in problems) == bool(is_guarded), name


def headers_of(operation: dict[str, Any]) -> set[str]:
    return {one["name"] for one in operation.get("parameters", ()) if one["in"] == "header"}


def test_conditions_and_keys_tell_of_their_answers(document):
    for name, operation in operations(document).items():
        headers, statuses = headers_of(operation), operation["responses"].keys()
        assert ("If-Match" in headers) == ({"412", "428"} <= statuses), name
        assert ("If-None-Match" in headers) == ("304" in statuses), name
        assert ("Idempotency-Key" in headers) == ("422" in statuses), name
        assert ("{" in name) == ("404" in statuses), name
        if name.startswith("patch"):
            assert "If-Match" in headers, name


def test_a_row_under_a_clients_id_is_made_or_was_made_before(document):
    put = operations(document)["put /api/v1/customers/{id}"]["responses"]

    assert {"200", "201"} <= put.keys()
    assert put["201"]["content"] == put["200"]["content"]
    assert put["201"]["headers"].keys() == {"ETag", "Location"}


def contents(document: dict[str, Any]) -> list[tuple[str, dict[str, Any]]]:
    """Return each body in JSON that goes in or out, with the name of its operation."""
    found = []
    for name, operation in operations(document).items():
        answers = [resolved(document, answer) for answer in operation["responses"].values()]
        for holder in (operation.get("requestBody", {}), *answers):
            for kind, content in holder.get("content", {}).items():
                if "json" in kind:
                    found.append((name, content))
    return found


def example_of(document: dict[str, Any], content: dict[str, Any]) -> Any:
    if "example" in content:
        return content["example"]
    name = content["examples"]["usual"]["$ref"].split("/")[-1]
    return document["components"]["examples"][name]["value"]


def test_every_body_has_an_example_that_its_schema_takes(document):
    wrong, known = {}, set()
    for name, content in contents(document):
        key = json.dumps(content, sort_keys=True, default=str)
        if key in known:
            continue
        known.add(key)
        schema = {**content["schema"], "components": document["components"]}
        checker = OAS31Validator(schema, format_checker=oas31_format_checker)
        errors = [error.message for error in checker.iter_errors(example_of(document, content))]
        if errors:
            wrong[name] = errors

    assert wrong == {}
    assert len(known) > 200


def test_the_examples_of_problems_are_titled_as_their_pages_are():
    for status, body in PROBLEM_BODIES.items():
        assert body["title"] == title_of(body["type"].removeprefix("/problems/")), status


def test_operations_have_names_of_their_own(document):
    names = [operation["operationId"] for operation in operations(document).values()]

    assert len(names) == len(set(names))


def test_every_address_of_the_api_is_described(document):
    described = {
        path.removeprefix("/api/v1/").replace("{id}", "{pk}") for path in document["paths"]
    }

    assert described == set(TABLE) - {"openapi.yaml", "docs"} | {"/statusz"}
