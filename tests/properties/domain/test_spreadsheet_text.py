"""Reading CSV: letters, what divides the cells, and no row lost whatever comes."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from properties.domain.errors import InvalidInputError
from properties.domain.spreadsheet_files import csv_lines
from properties.domain.spreadsheet_text import (
    SIGNS,
    Delimiter,
    Encoding,
    codec_of,
    column_letters,
    delimiter_of,
    encoding_of,
    read_records,
)

TEXT = "Référence,Ville\nK-1,Zürich\n"
CELLS = st.text(st.characters(codec="utf-8", exclude_characters="\0"), max_size=12)


def source(content, size=5):
    """Give the bytes in small pieces, so that letters and line ends lie across two of them."""
    return lambda: (content[at : at + size] for at in range(0, len(content), size))


def rows(content, said=None, delimiter=Delimiter.COMMA):
    given_source = source(content)
    codec = codec_of(given_source, said)
    return [(r.row, r.cells) for r in read_records(given_source, codec, delimiter)]


@pytest.mark.parametrize(
    ("codec", "found"),
    [
        ("utf-8", "utf-8"),
        ("utf-8-sig", "utf-8"),
        ("utf-16", "utf-16"),
        ("utf-16-le", "utf-16"),
        ("utf-16-be", "utf-16"),
        ("cp1252", "windows-1252"),
    ],
)
def test_the_letters_of_a_file_are_found(codec, found):
    content = TEXT.encode(codec)

    assert encoding_of(codec_of(source(content, 4096))) == found
    assert encoding_of(codec_of(source(content, 4096), Encoding(found))) == found
    assert rows(content, Encoding(found)) == [(1, ["Référence", "Ville"]), (2, ["K-1", "Zürich"])]


def test_bytes_that_windows_does_not_know_are_latin_1():
    assert encoding_of(codec_of(source(b"caf\xe9 \x81"))) == Encoding.LATIN_1


def test_said_letters_overrule_what_the_bytes_show():
    content = "Zürich\n".encode()

    assert rows(content, Encoding.WINDOWS_1252) == [(1, ["ZÃ¼rich"])]


def test_bytes_that_are_no_letters_are_refused_with_the_row_before_them():
    with pytest.raises(InvalidInputError, match="no letters in utf-8") as refusal:
        rows(b"a\nb\n\xff\xff\n", Encoding.UTF_8)
    assert (refusal.value.field, refusal.value.code) == ("encoding", "wrong-encoding")


@pytest.mark.parametrize("content", [b"PK\x03\x04..", b"\xd0\xcf\x11\xe0..", b"%PDF-1.4"])
def test_a_workbook_is_refused_with_what_to_do(content):
    with pytest.raises(InvalidInputError, match="Save the sheet as CSV"):
        codec_of(source(content, 4096))


@pytest.mark.parametrize("delimiter", list(Delimiter))
def test_what_divides_the_cells_is_found_by_the_known_headings(delimiter):
    content = SIGNS[delimiter].join(["Name", "Street, and number; or", "City"]).encode()

    found = delimiter_of(source(content), "utf-8", lambda cells: sum(c == "City" for c in cells))

    assert found is delimiter


def test_a_first_line_may_tell_what_divides_and_is_no_row_of_cells():
    content = b"sep=;\r\nName;City\r\n"

    assert delimiter_of(source(content), "utf-8", len) is Delimiter.SEMICOLON
    assert rows(content, delimiter=Delimiter.SEMICOLON)[:2] == [(1, []), (2, ["Name", "City"])]


def test_rows_are_counted_as_the_spreadsheet_counts_them():
    content = b'a,"two\nlines"\r\n\r\n,,\nb,c\rd,e'

    assert rows(content) == [
        (1, ["a", "two\nlines"]), (2, []), (3, ["", "", ""]), (4, ["b", "c"]), (5, ["d", "e"]),
    ]  # fmt: skip


@pytest.mark.parametrize("content", [b'a,b\n"open,c\nd,e\n', b'a\n"x"y\n'])
def test_an_open_quotation_mark_is_refused_and_swallows_no_row_in_silence(content):
    with pytest.raises(InvalidInputError, match="Row 2 has a quotation mark"):
        rows(content)


def test_a_cell_beyond_all_measure_is_refused():
    with pytest.raises(InvalidInputError, match="quotation mark"):
        rows(b'a\n"' + b"x" * 200_000 + b'"\n')


def test_columns_are_named_by_letters():
    assert [column_letters(index) for index in (0, 25, 26, 51, 52, 701, 702)] == [
        "A", "Z", "AA", "AZ", "BA", "ZZ", "AAA",
    ]  # fmt: skip


@given(content=st.binary(max_size=200), delimiter=st.sampled_from(Delimiter))
def test_whatever_the_bytes_there_are_rows_or_a_refusal(content, delimiter):
    try:
        found = rows(content, delimiter=delimiter)
    except InvalidInputError as refusal:
        assert refusal.remedy
        return
    assert [row for row, _ in found] == list(range(1, len(found) + 1))


@given(
    table=st.lists(st.lists(CELLS, min_size=2, max_size=4), min_size=1, max_size=5),
    codec=st.sampled_from(["utf-8", "utf-8-sig", "utf-16"]),
    delimiter=st.sampled_from(Delimiter),
    size=st.integers(1, 9),
)
def test_no_row_and_no_cell_is_lost(table, codec, delimiter, size):
    out = io.StringIO(newline="")
    csv.writer(out, delimiter=SIGNS[delimiter]).writerows(table)
    given_source = source(out.getvalue().encode(codec), size)
    said = Encoding.UTF_16 if codec == "utf-16" else Encoding.UTF_8

    found = [
        record.cells
        for record in read_records(given_source, codec_of(given_source, said), delimiter)
    ]

    first = SIGNS[delimiter].join(table[0]).strip().lower()
    if not first.startswith(("sep=", "\ufeff")):
        assert found == table


@given(table=st.lists(st.lists(CELLS, min_size=2, max_size=3), max_size=4))
def test_what_goes_out_comes_back_cell_by_cell(table):
    content = b"".join(csv_lines(["A", "B"], table, with_mark=True))

    assert [cells for _, cells in rows(content)] == [["A", "B"], *table]
