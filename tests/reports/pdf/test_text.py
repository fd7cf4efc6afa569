from __future__ import annotations

import ast
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from reportlab.pdfbase.pdfmetrics import stringWidth

import reports
from reports.pdf.fonts import REGULAR, printable
from reports.pdf.styles import BODY
from reports.pdf.text import Strong, fitted, paragraph, plain

ROOT = Path(reports.__file__).parent
DOOR = ROOT / "pdf" / "text.py"


def names_called(source: str) -> set[str]:
    calls = [node.func for node in ast.walk(ast.parse(source)) if isinstance(node, ast.Call)]
    return {
        func.attr if isinstance(func, ast.Attribute) else getattr(func, "id", "") for func in calls
    }


def test_no_paragraph_is_made_outside_the_door():
    parsers = {"Paragraph", "XPreformatted", "ParaFrag", "TableOfContents"}

    strays = [
        path.name
        for path in ROOT.rglob("*.py")
        if path != DOOR and names_called(path.read_text(encoding="utf-8")) & parsers
    ]

    assert strays == []


@pytest.mark.parametrize("source", ["Paragraph('x')", "platypus.Paragraph('x', style)"])
def test_the_watch_on_the_door_sees_a_stray_paragraph(source):
    assert "Paragraph" in names_called(source)


@pytest.mark.parametrize(
    "words",
    [
        "Smith & Sons <Front>",
        '<img src="/etc/passwd">',
        "<b>unclosed",
        "&lt;already&gt;",
        '<a href="javascript:alert(1)">x</a>',
        "]]> <!-- --> <?x?>",
    ],
)
def test_mark_up_is_shown_literally(words):
    made = paragraph(BODY, words, Strong(words))

    assert made.getPlainText() == words * 2


def test_control_characters_vanish_and_line_ends_become_spaces():
    assert plain("a\x00b\x1bc\x7fd\u202ee\u200bf") == "abcdef"
    assert plain("one\ntwo\tthree\u2028four") == "one two three four"


def test_lone_surrogates_and_private_letters_vanish():
    assert plain("a\ud800b\ue000c") == "abc"


def test_letters_of_many_alphabets_are_kept():
    words = "Țăran Łódź Nguyễn Θήβα Юрий שלום"

    assert plain(words) == words


def test_a_letter_without_a_glyph_is_substituted_visibly():
    assert plain("芝生 lawn") == "?? lawn"
    assert plain("Ｌawn №2") == "Lawn №2"


@given(st.text())
def test_whatever_comes_in_only_printable_letters_go_out(words):
    assert {ord(char) for char in plain(words)} <= printable()


@given(st.text(max_size=200), st.floats(20, 200))
def test_fitted_words_fit(words, width):
    assert stringWidth(fitted(words, width=width, size=7), REGULAR, 7) <= width


def test_short_words_are_not_cut_and_long_ones_end_in_an_ellipsis():
    assert fitted("Front lawn", width=100, size=7) == "Front lawn"
    assert fitted("Front lawn " * 20, width=100, size=7).endswith("…")
