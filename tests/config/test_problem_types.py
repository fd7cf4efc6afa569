"""Every way of failing has a type, and every type a page and a use."""

from __future__ import annotations

import ast
import importlib
import pkgutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from rest_framework import exceptions

from config.exception_handler import STATUSES
from config.problem_pages import as_html
from config.problem_types import INVALID_VALUE, NAMES, PAGES, TYPES, page_of, title_of, type_of
from properties.domain.errors import DomainError, InvalidInputError, RefusedError

ROOT = Path(__file__).resolve().parents[2]
FLOORS = ("config", "properties", "audits", "scheduling", "reports")
# What Django and the framework raise by themselves, and our own handlers answer.
OF_THE_FRAME = {400, 401, 403, 404, 405, 406, 413, 415, 429, 500, 503}


def load_everything() -> None:
    for floor in FLOORS:
        package = importlib.import_module(floor)
        for module in pkgutil.walk_packages(package.__path__, f"{floor}."):
            if ".settings" not in module.name and ".wsgi" not in module.name:
                importlib.import_module(module.name)


def kinds_of(base: type) -> Iterator[Any]:
    for kind in base.__subclasses__():
        yield kind
        yield from kinds_of(kind)


def is_ours(kind: type) -> bool:
    return kind.__module__.split(".")[0] in FLOORS


@pytest.fixture(scope="module", autouse=True)
def _everything() -> None:
    load_everything()


def status_of(kind: type) -> int:
    return next((status for known, status in STATUSES if issubclass(kind, known)), 400)


def test_every_refusal_of_the_domain_has_a_type_with_a_page():
    ours = {kind for kind in kinds_of(DomainError) if is_ours(kind)}

    assert {InvalidInputError, RefusedError} <= ours
    for kind in ours:
        status = status_of(kind)
        assert status == 400 or status in TYPES, kind
        assert type_of(status) in NAMES
        if status == 400:
            assert issubclass(kind, InvalidInputError), kind  # its type is that of a wrong value


def test_every_error_of_http_that_we_raise_has_a_type_with_a_page():
    for kind in kinds_of(exceptions.APIException):
        if is_ours(kind) or kind.__module__ == "rest_framework.exceptions":
            assert kind.status_code in TYPES, kind


def codes_in_the_sources() -> Iterator[tuple[str, str]]:
    for floor in FLOORS:
        for path in (ROOT / floor).rglob("*.py"):
            for node in ast.walk(ast.parse(path.read_text())):
                if not isinstance(node, ast.keyword) or node.arg != "code":
                    continue
                if isinstance(node.value, ast.Constant) and isinstance(node.value.value, str):
                    yield node.value.value, str(path)


def test_codes_are_plain_words_that_may_stand_in_an_answer():
    codes = dict(codes_in_the_sources())

    assert len(codes) > 100
    for code, where in codes.items():
        assert code.replace("_", "-").replace("-", "").isalnum(), (code, where)


def test_every_type_has_its_page_and_every_page_its_type():
    assert sorted(path.stem for path in PAGES.iterdir()) == NAMES
    assert len({title_of(name) for name in NAMES}) == len(NAMES)
    for name in NAMES:
        assert page_of(name).startswith("# ")
        assert "What to do:" in page_of(name)


def test_no_type_is_without_use():
    raised = {status_of(kind) for kind in kinds_of(DomainError) if is_ours(kind)}
    raised |= {kind.status_code for kind in kinds_of(exceptions.APIException) if is_ours(kind)}
    used = {type_of(status) for status in raised | OF_THE_FRAME} | {INVALID_VALUE}

    assert used == set(NAMES)


def test_a_status_that_nobody_foresaw_is_of_the_nearest_type():
    assert (type_of(418), type_of(502)) == ("not-understood", "server-error")


@pytest.mark.parametrize("name", NAMES)
def test_a_type_is_the_address_of_its_page(name):
    answer = Client().get(f"/problems/{name}")

    assert answer.status_code == 200
    assert answer["Content-Type"].startswith("text/html")
    assert f"<h1>{title_of(name)}</h1>" in answer.text
    assert "`" not in answer.text


def test_all_types_are_listed():
    page = Client().get("/problems").text

    for name in NAMES:
        assert f'href="/problems/{name}"' in page


@pytest.mark.parametrize("name", ["no-such", "..", "problem_types"])
def test_no_other_file_is_a_page(name):
    assert Client().get(f"/problems/{name}").status_code == 404


def test_pages_are_only_read():
    assert Client().post("/problems").status_code == 405
    assert Client().post("/problems/stale").status_code == 405


def test_our_markdown_becomes_headings_paragraphs_lists_and_code_and_nothing_else():
    text = "# A <b>\n\nOne `x < y`\nline.\n\n- first\n  goes on\n- second\n"

    assert as_html(text) == (
        "<h1>A &lt;b&gt;</h1>\n<p>One <code>x &lt; y</code> line.</p>\n"
        "<ul><li>first goes on</li><li>second</li></ul>"
    )
