"""The words of the monthly notice: one file a language, English where there is none."""

from __future__ import annotations

import ast
import re
import sys
from dataclasses import fields, is_dataclass, replace
from pathlib import Path
from types import ModuleType

import pytest

import scheduling.domain.notice_words as lookup
from reports.domain.letters import Letter, letter_html, letter_text
from scheduling.domain.monthly_facts import ClientWord, Source
from scheduling.domain.monthly_notice import monthly_content
from scheduling.domain.notice_words import counted, notice_words
from scheduling.domain.notice_words_en import WORDS
from tests.scheduling.domain.monthly_cases import (
    BEDS,
    DAILY,
    FACTS,
    FRONT,
    JUNE_10,
    OFF,
    fitted,
    program,
    state,
)

DOMAIN = Path(lookup.__file__).parent
# What writes the notice: beside the words of a language none of it holds a sentence.
WRITERS = (
    "monthly_notice.py", "monthly_sections.py", "monthly_facts.py", "program_steps.py",
    "notice_words.py",
)  # fmt: skip


@pytest.fixture
def shouting(monkeypatch):
    """A made-up second language, in a file of its own: every word of English is a shell."""
    words = replace(_shelled(WORDS), language="xx")
    module = ModuleType("scheduling.domain.notice_words_xx")
    module.WORDS = words
    monkeypatch.setitem(sys.modules, module.__name__, module)
    notice_words.cache_clear()
    yield words
    notice_words.cache_clear()


def _shelled(value):
    """Make a shell of every word, and leave what is filled in."""
    if isinstance(value, str):
        return re.sub(r"[A-Za-z]+(?![^{]*\})", "~", value)
    if isinstance(value, tuple):
        return tuple(map(_shelled, value))
    if is_dataclass(value):
        return replace(
            value, **{each.name: _shelled(getattr(value, each.name)) for each in fields(value)}
        )
    return {key: _shelled(each) for key, each in value.items()}


def test_a_language_is_found_by_its_file(shouting):
    assert notice_words("xx") is shouting
    assert notice_words("XX") is shouting
    assert notice_words("en") is WORDS


@pytest.mark.parametrize("language", ["de", "pt-br", "", "../en", "en.x", "_en"])
def test_a_language_that_nobody_wrote_is_english(language):
    assert notice_words(language) is WORDS


def test_a_broken_file_is_not_taken_for_a_missing_one(monkeypatch):
    def fail(name):
        raise ModuleNotFoundError("No module named 'gone'", name="gone")

    monkeypatch.setattr(lookup.importlib, "import_module", fail)
    notice_words.cache_clear()
    with pytest.raises(ModuleNotFoundError, match="gone"):
        notice_words("de")
    notice_words.cache_clear()


CASES = {
    "plans": FACTS.controllers,
    "first": (replace(FACTS.controllers[0], zones=(replace(FRONT, was=None),)),),
    "off": (replace(FACTS.controllers[0], zones=(replace(FRONT, now=OFF),)),),
    "new zone": (replace(FACTS.controllers[0], zones=(FRONT, replace(BEDS, was=None))),),
    "by hand": (replace(FACTS.controllers[0], name=""),),
    **{
        source: (
            fitted(
                state(program(), program("C", DAILY, minutes={"5": 3}), percent=80),
                state(program(pattern=DAILY, starts=("04:30", "05:30"))),
                source=source, zones=(FRONT,), estimated=frozenset("3"),
            ),
        )
        for source in (Source.FOUND, Source.SET_BY_US, Source.OUR_NOTICE)
    },
    "unknown": (fitted(None, state(program())),),
    "right": (fitted(state(program()), state(program())),),
    **{
        f"own, asked {was_asked}": (
            fitted(
                state(program()), state(program(pattern=DAILY)), source=Source.CLIENT,
                himself=ClientWord(JUNE_10, was_asked),
            ),
        )
        for was_asked in (True, False)
    },
}  # fmt: skip


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("et0_mm", [3.0, 6.0, 7.2])
def test_no_sentence_of_a_notice_stands_outside_of_the_words(shouting, case, et0_mm):
    content = monthly_content(
        replace(FACTS, controllers=CASES[case], et0_mm=et0_mm, place="+"), "metric", shouting
    )

    # What is left are names and units: of the controller, its programs and zones.
    known = {"Garage", "Lawn", "Front", "lawn", "Beds", "A", "C", "mm"}
    said = str(list(_strings(content.as_json())))
    assert "~" in said
    assert set(re.findall(r"[A-Za-z]+", said)) <= known


def _strings(value):
    """Every text of a content, without the names of its fields and the uid of its entry."""
    if isinstance(value, dict):
        for name, each in value.items():
            if name not in ("uid", "date"):
                yield from _strings(each)
    elif isinstance(value, list):
        for each in value:
            yield from _strings(each)
    elif isinstance(value, str):
        yield value.replace("None", "")


def test_the_letter_around_it_speaks_the_same_language(shouting):
    content = monthly_content(FACTS, "metric", shouting)
    letter = Letter(content, "Meadowlark", "", "", "", "https://water.example/1", language="xx")

    assert "~ ~ ~ ~:\nhttps://water.example/1" in letter_text(letter)
    assert '<html lang="xx">' in letter_html(letter)
    assert "Stop" not in letter_html(letter) + letter_text(letter)


@pytest.mark.parametrize("name", WRITERS)
def test_what_writes_a_notice_holds_no_sentence(name):
    tree = ast.parse((DOMAIN / name).read_text())
    documented = (ast.Module, ast.ClassDef, ast.FunctionDef)
    docstrings = {
        id(node.body[0].value)
        for node in ast.walk(tree)
        if isinstance(node, documented) and node.body and isinstance(node.body[0], ast.Expr)
    }
    bare = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    said = [
        node.value
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
        and id(node) not in docstrings | bare and re.search(r"[A-Za-z]+ [A-Za-z]+", node.value)
    ]  # fmt: skip

    assert said == []


@pytest.mark.parametrize(("count", "words"), [(1, "one"), (2, "2 more"), (0, "0 more")])
def test_a_number_takes_its_form(count, words):
    assert counted(("one", "{count} more"), count) == words
