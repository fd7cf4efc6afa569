"""The committed API description is the one that the code makes, and says what it must."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
import yaml
from openapi_spec_validator import OpenAPIV31SpecValidator

from tests.config.test_access import TABLE

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
        if operation.get("security") != [{"bearerToken": []}]
    }

    assert open_to_all == {"post /api/v1/sign-in"}
    assert not operations(document)["post /api/v1/sign-in"].get("security")


def test_every_operation_answers_problems_in_the_one_shape(document):
    for name, operation in operations(document).items():
        problem = operation["responses"]["default"]["content"]["application/problem+json"]
        assert problem["schema"] == {"$ref": "#/components/schemas/Problem"}, name


def test_operations_have_names_of_their_own(document):
    names = [operation["operationId"] for operation in operations(document).values()]

    assert len(names) == len(set(names))


def test_every_address_of_the_api_is_described(document):
    described = {
        path.removeprefix("/api/v1/").replace("{id}", "{pk}") for path in document["paths"]
    }

    assert described == set(TABLE) - {"openapi.yaml", "docs"}
