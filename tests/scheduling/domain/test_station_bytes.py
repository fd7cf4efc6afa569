import gzip
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from properties.domain.errors import InvalidInputError
from scheduling.domain.station_bytes import BLOCK_BYTES, LINE_LIMIT_CHARS, whole_lines

LINE = b"ZZTEST00001,20210610,PRCP,1,,,7,0700\n"


def cut(content, size):
    return [content[start : start + size] for start in range(0, len(content), size)]


def refusal_of(content, *, size=1000, **options):
    with pytest.raises(InvalidInputError) as refusal:
        list(whole_lines(cut(content, size), **options))
    assert refusal.value.field == "file"
    assert refusal.value.remedy
    return refusal.value.code


@pytest.mark.parametrize("size", [1, 7, 37, 4096])
@pytest.mark.parametrize("is_packed", [False, True])
def test_blocks_hold_whole_lines_however_the_bytes_come(size, is_packed):
    content = LINE * 300
    sent = gzip.compress(content) if is_packed else content

    blocks = list(whole_lines(cut(sent, size)))

    assert b"".join(blocks) == content
    assert all(block.endswith(b"\n") for block in blocks)


@settings(max_examples=50)
@given(st.text("ab,\n", max_size=200), st.integers(1, 50))
def test_no_line_is_lost_or_made(text, size):
    content = b"x" + text.encode()

    blocks = b"".join(whole_lines(cut(content, size)))

    assert blocks.rstrip(b"\n") == content.rstrip(b"\n")
    assert blocks.count(b"\n") == content.count(b"\n") + (not content.endswith(b"\n"))


def test_a_gzip_file_may_have_members_and_padding():
    sent = gzip.compress(LINE) + gzip.compress(LINE) + bytes(20)

    assert b"".join(whole_lines(cut(sent, 5))) == LINE * 2


@pytest.mark.parametrize("size", [100, 5000, 1 << 20])
def test_a_line_without_end_is_cut_and_the_next_one_whole(size):
    content = LINE + b"9" * 3_000_000 + b"\n" + LINE

    lines = b"".join(whole_lines(cut(content, size))).split(b"\n")

    assert [len(line) for line in lines] == [36, LINE_LIMIT_CHARS + 1, 36, 0]


def test_blocks_stay_small_whatever_comes():
    content = gzip.compress(random.Random(1).randbytes(1000).hex().encode() * 5000)

    assert max(map(len, whole_lines([content]))) <= BLOCK_BYTES + LINE_LIMIT_CHARS + 2


@pytest.mark.parametrize(
    ("content", "code"),
    [
        (b"", "empty-file"),
        (gzip.compress(LINE * 500)[:-1], "cut-short"),
        (gzip.compress(LINE * 500)[:-30], "cut-short"),
        (gzip.compress(LINE)[:5], "cut-short"),
        (gzip.compress(LINE * 500)[:-6] + b"xxxxxx", "damaged-gzip"),
        (gzip.compress(LINE) + b"more", "damaged-gzip"),
        (b"\x1f\x8bno gzip at all", "damaged-gzip"),
        (gzip.compress(bytes(20 << 20)), "unpacks-too-large"),
        (LINE.decode().encode("utf-16"), "wide-text"),
        (b"\xfe\xff" + LINE.decode().encode("utf-16-be"), "wide-text"),
        (LINE.decode().encode("utf-16-le"), "not-text"),
        (LINE + b"\x00\x01\x02", "not-text"),
        (LINE + b"\xff\n", "not-text"),
        (b"PK\x03\x04" + bytes(50), "not-text"),
        (random.Random(2).randbytes(5000), "not-text"),
    ],
)
def test_what_is_no_station_file_is_refused_by_name(content, code):
    assert refusal_of(content) == code


def test_a_name_that_promises_gzip_is_held_to_it():
    assert refusal_of(LINE, name="Days.csv.GZ") == "not-gzip"
    assert list(whole_lines([gzip.compress(LINE)], name="days.csv")) == [LINE]


def test_no_more_is_read_than_allowed():
    assert refusal_of(LINE * 100, limit_bytes=len(LINE) * 100 - 1) == "unpacks-too-large"
    assert list(whole_lines([LINE * 100], limit_bytes=len(LINE) * 100)) == [LINE * 100]
    assert refusal_of(gzip.compress(LINE * 100), limit_bytes=1000) == "unpacks-too-large"


def test_no_more_lines_are_read_than_allowed():
    assert refusal_of(LINE * 100 + b"\n", limit_lines=100) == "too-many-lines"
    assert refusal_of(gzip.compress(b"\n" * 3_000_000), limit_lines=2_999_999) == "too-many-lines"
    assert b"".join(whole_lines(cut(LINE * 100, 999), limit_lines=100)) == LINE * 100


def test_what_is_not_text_is_told_by_its_line():
    with pytest.raises(InvalidInputError, match="Line 2001 is"):
        list(whole_lines(cut(LINE * 2000 + b"\xff\n" + LINE, 999)))


def test_letters_beyond_ascii_are_text():
    assert list(whole_lines(["größe,ñ\n".encode()])) == ["größe,ñ\n".encode()]
