"""A notice as a letter."""

from __future__ import annotations

from dataclasses import replace
from html.parser import HTMLParser

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reports.domain.letters import Letter, letter_html, letter_text
from scheduling.domain.notice_content import NoticeContent, NoticeSection, NoticeTable

TABLE = NoticeTable(
    ("Program", "Was", "Set now"),
    (("A, zones 1 to 4", "every 2 days", "every 3 days"), ("B, zone 5", "Tue, Fri", "Tue")),
)
CONTENT = NoticeContent(
    "Water less from 1 September",
    "It gets cooler, so the lawn needs less.",
    (NoticeSection("What to change", ("In the garage:",), TABLE),),
)
LETTER = Letter(
    CONTENT, "Meadowlark", "Tallgrass, 555 0100", "Dear Ingrid Holm,", "You agreed to notices.",
    "https://water.example/notices/stop/1/abc",
)  # fmt: skip
NASTY = "<script>alert(\"x\")</script> & 'so on'"


def test_the_text_reads_from_the_greeting_to_how_to_stop_it():
    assert letter_text(LETTER) == (
        "Dear Ingrid Holm,\n\n"
        "It gets cooler, so the lawn needs less.\n\n"
        "WHAT TO CHANGE\nIn the garage:\n\n"
        "Program          Was           Set now\n"
        "A, zones 1 to 4  every 2 days  every 3 days\n"
        "B, zone 5        Tue, Fri      Tue\n\n"
        "-- \nMeadowlark\nTallgrass, 555 0100\n\n"
        "You agreed to notices.\n\n"
        "To stop these notices:\nhttps://water.example/notices/stop/1/abc\n"
    )


def test_a_table_too_wide_for_a_line_is_told_cell_by_cell():
    wide = NoticeTable(("Program", "Was"), (("A" * 40, "b" * 40),))
    content = replace(CONTENT, sections=(NoticeSection("What to change", (), wide),))

    text = letter_text(replace(LETTER, content=content))

    assert f"Program: {'A' * 40}\nWas: {'b' * 40}" in text


@given(st.lists(st.text(st.characters(categories=("L",)), min_size=1, max_size=30), max_size=60))
def test_no_line_of_words_is_longer_than_a_screen(words):
    content = replace(CONTENT, sections=(NoticeSection("More", (" ".join(words),)),))

    assert max(map(len, letter_text(replace(LETTER, content=content)).splitlines())) <= 72


class Page(HTMLParser):
    """What a browser makes of a page: its tags, and its words."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.words = ""
        self.links: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag, attributes):
        self.tags.append(tag)
        self.links += [value for name, value in attributes if name == "href"]

    def handle_data(self, data):
        self.words += data


def test_the_page_says_what_the_text_says():
    page = Page(letter_html(LETTER))

    for words in ("Dear Ingrid Holm,", CONTENT.summary, "every 3 days", "You agreed to notices."):
        assert words in page.words
    assert (page.tags.count("tr"), page.tags.count("th"), page.tags.count("td")) == (3, 3, 6)
    assert page.links == [LETTER.stop_url]
    assert not {"script", "img", "link"} & set(page.tags)


@pytest.mark.parametrize("field", ["company_name", "contact_line", "greeting", "why", "stop_url"])
def test_every_word_of_the_page_is_literal(field):
    page = Page(letter_html(replace(LETTER, **{field: NASTY})))

    assert "script" not in page.tags
    assert NASTY in page.words + " ".join(page.links)


def test_the_words_of_the_content_are_literal_too():
    table = NoticeTable((NASTY,), ((NASTY,),))
    content = NoticeContent(NASTY, NASTY, (NoticeSection(NASTY, (NASTY,), table),))

    page = Page(letter_html(replace(LETTER, content=content)))

    assert "script" not in page.tags
    assert page.words.count(NASTY) == 6


def test_without_a_way_to_stop_none_is_told():
    colleague = replace(LETTER, stop_url="")

    assert "stop" not in letter_text(colleague).lower()
    assert Page(letter_html(colleague)).links == []
