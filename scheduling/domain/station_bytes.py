"""From the bytes that somebody sent to blocks of whole lines: unpacked, bounded, and text at all.

Whatever cannot be a station file is refused as a whole, by name, before a line of it is read; a
packed file may turn out broken only after a part of it was read, so that whoever stores what he
reads must undo it then.

References
----------
IETF, RFC 1952 (gzip): a file begins with 1f 8b and may have several members.
"""

from __future__ import annotations

import zlib
from collections.abc import Iterable, Iterator
from itertools import chain
from typing import Final

from properties.domain.errors import InvalidInputError

LINE_LIMIT_CHARS: Final = 8192
"""Longer than the widest header; what is longer is no station file."""

GZIP_MAGIC: Final = b"\x1f\x8b"
BLOCK_BYTES: Final = 1 << 20
_GZIP_WINDOW: Final = 31  # zlib: a gzip header and the largest window
_WIDE_TEXT: Final = (b"\xff\xfe", b"\xfe\xff")
# Element lines shrink 9 times, month lines 34, months of a single value 51 (measured); a bomb 1000.
_MOST_SHRINKING: Final = 200
_BOMB_FROM_BYTES: Final = 16 << 20


UNPACKED_LIMIT_BYTES: Final = 1 << 30
LIMIT_LINES: Final = 30_000_000  # as many regular lines as that holds


def whole_lines(
    pieces: Iterable[bytes],
    *,
    name: str = "",
    limit_bytes: int = UNPACKED_LIMIT_BYTES,
    limit_lines: int = LIMIT_LINES,
) -> Iterator[bytes]:
    """Yield the file in blocks of whole lines, each line with its line end.

    A line longer than LINE_LIMIT_CHARS comes cut to one character more, so that its reader can
    refuse it, and is never held whole.

    Parameters
    ----------
    pieces : the bytes of the file as they come, plain or gzip.
    name : the name of the file; one that ends in .gz promises a gzip file.
    limit_bytes : how much is read at most [bytes], counted unpacked.
    limit_lines : how many lines a file may have.

    Raises
    ------
    InvalidInputError
        Field "file"; codes `empty-file`, `not-gzip`, `damaged-gzip`, `cut-short`,
        `unpacks-too-large`, `too-many-lines`, `wide-text` (UTF-16), `not-text`.
    """
    stream = iter(pieces)
    start = b""
    while len(start) < len(GZIP_MAGIC) and (piece := next(stream, b"")):
        start += piece
    if not start:
        raise _refusal("The file is empty.", "empty-file", "Send a file with lines.")
    stream = chain([start], stream)
    if start.startswith(GZIP_MAGIC):
        stream = _unpacked(stream)
    elif name.lower().endswith(".gz"):
        raise _refusal(
            "The name says gzip, but the content is not.", "not-gzip",
            "Send the file as it was published, or take .gz off its name if it is plain.",
        )  # fmt: skip
    return _checked(_cut_to_lines(_bounded(stream, limit_bytes)), limit_lines)


def _unpacked(pieces: Iterator[bytes]) -> Iterator[bytes]:
    """Unpack member after member, never more than a block at once."""
    packed = unpacked = 0
    member = zlib.decompressobj(_GZIP_WINDOW)
    for piece in pieces:
        packed += len(piece)
        remaining = piece
        while remaining:
            if member.eof:
                if not remaining.strip(b"\x00"):  # padding after the last member
                    break
                member = zlib.decompressobj(_GZIP_WINDOW)
            block = _next_block(member, remaining)
            unpacked += len(block)
            if unpacked > max(_BOMB_FROM_BYTES, packed * _MOST_SHRINKING):
                raise _too_large("The file grows more than 200 times when it is unpacked.")
            yield block
            remaining = member.unused_data if member.eof else member.unconsumed_tail
    if not member.eof:
        raise _refusal(
            "The gzip file ends in the middle.", "cut-short", "Fetch the file again and send it."
        )


def _next_block(member: zlib._Decompress, piece: bytes) -> bytes:
    try:
        return member.decompress(piece, BLOCK_BYTES)
    except zlib.error as error:
        raise _refusal(
            f"The gzip file is damaged ({error}).", "damaged-gzip",
            "Fetch the file again and send it.",
        ) from error  # fmt: skip


def _bounded(pieces: Iterator[bytes], limit_bytes: int) -> Iterator[bytes]:
    total = 0
    for piece in pieces:
        total += len(piece)
        if total > limit_bytes:
            raise _too_large(f"The file holds more than {limit_bytes} bytes of text.")
        for start in range(0, len(piece), BLOCK_BYTES):
            yield piece[start : start + BLOCK_BYTES]


def _cut_to_lines(pieces: Iterator[bytes]) -> Iterator[bytes]:
    """Yield whole lines; of one without end only its start is kept while the end is looked for."""
    rest = b""
    for piece in pieces:
        lines, end, tail = piece.rpartition(b"\n")
        if not end:
            rest = (rest + tail)[: LINE_LIMIT_CHARS + 1]
            continue
        yield _cut_long_lines(rest + lines + end)
        rest = tail[: LINE_LIMIT_CHARS + 1]
    if rest:
        yield rest + b"\n"


def _cut_long_lines(block: bytes) -> bytes:
    lines = block.split(b"\n")
    if max(map(len, lines)) <= LINE_LIMIT_CHARS:
        return block
    return b"\n".join(line[: LINE_LIMIT_CHARS + 1] for line in lines)


def _checked(blocks: Iterator[bytes], limit_lines: int) -> Iterator[bytes]:
    """Refuse what is no text or too many lines; the line is told where that shows late."""
    number = 1
    for block in blocks:
        if number == 1 and block.startswith(_WIDE_TEXT):
            raise _refusal(
                "The file is UTF-16 text.", "wide-text",
                "Save it as plain text (ASCII or UTF-8), as it was published.",
            )  # fmt: skip
        if not block.isascii() or b"\x00" in block:
            _check_text(block, number)
        number += block.count(b"\n")
        if number > limit_lines + 1:
            raise _refusal(
                f"The file has more than {limit_lines} lines.", "too-many-lines",
                "Divide the file, by station or by year, and send the parts one by one.",
            )  # fmt: skip
        yield block


def _check_text(block: bytes, number: int) -> None:
    place = block.find(b"\x00")
    try:
        block.decode("utf-8")
    except UnicodeDecodeError as error:
        place = error.start if place < 0 else min(place, error.start)
    if place >= 0:
        line = number + block.count(b"\n", 0, place)
        raise _refusal(
            f"Line {line} is not text.", "not-text",
            "Send a station file in ASCII or UTF-8, plain or packed with gzip.",
        )  # fmt: skip


def _too_large(detail: str) -> InvalidInputError:
    return _refusal(detail, "unpacks-too-large", "Send it in parts, by station or by year.")


def _refusal(detail: str, code: str, remedy: str) -> InvalidInputError:
    return InvalidInputError(detail, field="file", code=code, remedy=remedy)
