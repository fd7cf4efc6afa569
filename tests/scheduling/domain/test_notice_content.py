from __future__ import annotations

import datetime as dt
import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from properties.domain.errors import InvalidInputError
from scheduling.domain.notice_content import (
    CalendarEntry,
    NoticeContent,
    NoticeSection,
    NoticeTable,
    content_of,
)

words = st.text(st.characters(exclude_categories=("C", "Z")), min_size=1, max_size=20)
tables = st.integers(1, 3).flatmap(
    lambda columns: st.builds(
        NoticeTable,
        headings=st.tuples(*[words] * columns),
        rows=st.lists(st.tuples(*[words] * columns), max_size=3).map(tuple),
    )
)
contents = st.builds(
    NoticeContent,
    subject=words,
    summary=st.text(max_size=50),
    sections=st.lists(
        st.builds(
            NoticeSection,
            heading=words,
            paragraphs=st.lists(st.text(max_size=30), max_size=2).map(tuple),
            table=st.none() | tables,
        ),
        max_size=3,
    ).map(tuple),
    calendar=st.lists(
        st.builds(CalendarEntry, uid=words, date=st.dates(), summary=words), max_size=2
    ).map(tuple),
    has_sheet=st.booleans(),
)


@given(contents)
def test_frozen_and_thawed_it_is_the_same(content):
    stored = json.loads(json.dumps(content.as_json()))

    assert content_of(stored) == content
    assert content_of(stored).digest() == content.digest()


@given(contents, contents)
def test_only_the_same_content_has_the_same_digest(one, other):
    assert (one.digest() == other.digest()) == (one == other)


@pytest.mark.parametrize(
    ("subject", "code"),
    [
        ("", "subject-length"), ("  ", "subject-length"), ("x" * 121, "subject-length"),
        ("Water\r\nBcc: all@example.org", "subject-line"), ("Water\x00", "subject-line"),
    ],
)  # fmt: skip
def test_a_subject_that_is_no_one_line_is_refused(subject, code):
    with pytest.raises(InvalidInputError) as refusal:
        NoticeContent(subject, "")

    assert (refusal.value.field, refusal.value.code) == ("subject", code)


def test_a_table_with_a_row_too_short_is_refused():
    with pytest.raises(InvalidInputError) as refusal:
        NoticeTable(("Program", "Was", "Now"), (("A", "20 min", "14 min"), ("B", "10 min")))

    assert (refusal.value.field, refusal.value.code) == ("rows", "crooked-table")


def test_the_days_of_a_calendar_are_days_again():
    content = NoticeContent("s", "", calendar=(CalendarEntry("1", dt.date(2026, 7, 1), "set"),))

    assert content.as_json()["calendar"][0]["date"] == "2026-07-01"
    assert content_of(content.as_json()).calendar[0].date == dt.date(2026, 7, 1)
