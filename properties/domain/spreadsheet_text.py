"""A spreadsheet saved as CSV: in which letters it is written, and its rows of cells.

Rows are counted as the spreadsheet counts them: the first is 1, a blank one counts, and a cell with
a line break in it makes no second row.
"""

from __future__ import annotations

import codecs
import csv
import io
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from properties.domain.errors import InvalidInputError

MOST_CELL_CHARS: Final = 4000
MOST_COLUMNS: Final = 200
Source = Callable[[], Iterator[bytes]]
"""Gives the bytes of a file in pieces, from the beginning each time that it is called."""


class Encoding(StrEnum):
    """The letters of a file, as the office can name them."""

    UTF_8 = "utf-8"
    UTF_16 = "utf-16"
    WINDOWS_1252 = "windows-1252"
    LATIN_1 = "latin-1"


class Delimiter(StrEnum):
    """What stands between two cells."""

    COMMA = "comma"
    SEMICOLON = "semicolon"
    TAB = "tab"


SIGNS: Final = {Delimiter.COMMA: ",", Delimiter.SEMICOLON: ";", Delimiter.TAB: "\t"}
_NOT_CSV: Final = (
    b"PK\x03\x04",
    b"\xd0\xcf\x11\xe0",
    b"%PDF",
    b"\x1f\x8b",
    b"\x89PNG",
    b"\xff\xd8",
)
_NO_LETTERS_OF_WINDOWS: Final = frozenset(b"\x81\x8d\x8f\x90\x9d")
_TOLD_SIGN: Final = re.compile(r"sep=(.?)", re.IGNORECASE)
_HEAD_BYTES: Final = 4096
csv.field_size_limit(1 << 17)


@dataclass(frozen=True)
class Record:
    """One row of a file: its number in the spreadsheet, and its cells as they are written."""

    row: int
    cells: list[str]

    def is_blank(self) -> bool:
        return not any(cell.strip() for cell in self.cells)


def codec_of(source: Source, said: Encoding | None = None) -> str:
    """Return the codec that reads a file: the one said, or the one that its bytes show.

    Without a byte order mark a file is UTF-8 if all of it can be, else Windows-1252, else Latin-1;
    zeros at every second place show UTF-16.

    Raises
    ------
    InvalidInputError
        For a workbook, an archive or a picture in the place of a CSV file.
    """
    head = _head(source)
    if head.startswith(_NOT_CSV):
        raise InvalidInputError(
            "This is a workbook, an archive or a picture, and no CSV file.",
            field="file", code="not-csv", remedy="Save the sheet as CSV, and send that file.",
        )  # fmt: skip
    if said is not None and said is not Encoding.UTF_16:
        return "utf-8-sig" if said is Encoding.UTF_8 else _python_name(said)
    if head.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return "utf-16"
    if said is Encoding.UTF_16 or b"\0" in head:
        return "utf-16-le" if head[1::2].count(0) >= head[::2].count(0) else "utf-16-be"
    return _narrow_codec(source)


def encoding_of(codec: str) -> Encoding:
    """Return the name that the office knows a codec by."""
    if codec.startswith("utf"):
        return Encoding.UTF_16 if codec.startswith("utf-16") else Encoding.UTF_8
    return Encoding.WINDOWS_1252 if codec == "cp1252" else Encoding.LATIN_1


def delimiter_of(source: Source, codec: str, known: Callable[[list[str]], int]) -> Delimiter:
    """Return what divides the cells: the sign under which most headings are known.

    `known` counts the headings of a row that somebody knows; of equals the sign that makes more
    cells wins.
    """
    told = _told_sign(source, codec)
    if told is not None:
        return told
    scores = {}
    for delimiter in Delimiter:
        cells = _first_cells(source, codec, delimiter)
        scores[delimiter] = (known(cells), len(cells))
    return max(scores, key=lambda delimiter: scores[delimiter])


def read_records(source: Source, codec: str, delimiter: Delimiter) -> Iterator[Record]:
    """Yield the rows of a file one by one; whoever asks for them holds one at a time.

    Raises
    ------
    InvalidInputError
        Where bytes are no letters of the codec, or quotation marks leave open where a cell ends:
        what follows could not be trusted.
    """
    row = 0
    try:
        for cells in csv.reader(_lines(source, codec), delimiter=SIGNS[delimiter], strict=True):
            row += 1
            if row == 1 and _TOLD_SIGN.fullmatch(SIGNS[delimiter].join(cells).strip()):
                cells.clear()
            yield Record(row, cells)
    except UnicodeError as error:
        raise InvalidInputError(
            f"After row {row} there are bytes that are no letters in {encoding_of(codec)}.",
            field="encoding", code="wrong-encoding",
            remedy="Save the sheet as CSV UTF-8, or say another encoding.",
        ) from error  # fmt: skip
    except csv.Error as error:
        raise InvalidInputError(
            f"Row {row + 1} has a quotation mark that is not closed, or not doubled within a cell.",
            field="file", code="open-quote",
            remedy="Save the sheet as CSV anew, or close the quotation mark.",
        ) from error  # fmt: skip


def column_letters(index: int) -> str:
    """Return how a spreadsheet calls a column: A for 0, Z for 25, AA for 26."""
    letters = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


def _head(source: Source) -> bytes:
    """Return the beginning of a file, out of however many pieces."""
    head = b""
    for piece in source():
        head += piece
        if len(head) >= _HEAD_BYTES:
            break
    return head[:_HEAD_BYTES]


def _python_name(said: Encoding) -> str:
    return "cp1252" if said is Encoding.WINDOWS_1252 else "latin-1"


def _narrow_codec(source: Source) -> str:
    decoder = codecs.getincrementaldecoder("utf-8")()
    is_utf_8, is_windows = True, True
    for piece in source():
        is_windows = is_windows and not _NO_LETTERS_OF_WINDOWS.intersection(piece)
        is_utf_8 = is_utf_8 and _can_decode(decoder, piece)
    if is_utf_8 and _can_decode(decoder, b"", is_final=True):
        return "utf-8-sig"
    return "cp1252" if is_windows else "latin-1"


def _can_decode(
    decoder: codecs.IncrementalDecoder, piece: bytes, *, is_final: bool = False
) -> bool:
    try:
        decoder.decode(piece, is_final)
    except UnicodeDecodeError:
        return False
    return True


def _told_sign(source: Source, codec: str) -> Delimiter | None:
    """Return the sign of a first line such as `sep=;`, which some programs write."""
    try:
        first = next(iter(_lines(source, codec)), "")
    except UnicodeError:
        return None
    told = _TOLD_SIGN.fullmatch(first.rstrip("\r\n"))
    signs = {sign: delimiter for delimiter, sign in SIGNS.items()}
    return signs.get(told[1]) if told else None


def _first_cells(source: Source, codec: str, delimiter: Delimiter) -> list[str]:
    try:
        for record in read_records(source, codec, delimiter):
            if not record.is_blank():
                return record.cells
    except InvalidInputError:
        return []
    return []


def _lines(source: Source, codec: str) -> io.TextIOWrapper:
    pieces = io.BufferedReader(_Pieces(source()))
    return io.TextIOWrapper(pieces, encoding=codec, errors="strict", newline="")


class _Pieces(io.RawIOBase):
    """Pieces of bytes as a file, so that letters and line ends may lie across two of them."""

    def __init__(self, pieces: Iterator[bytes]) -> None:
        self._pieces = pieces
        self._rest = memoryview(b"")

    def readable(self) -> bool:
        return True

    def readinto(self, buffer: memoryview) -> int:  # type: ignore[override]
        while not self._rest:
            piece = next(self._pieces, None)
            if piece is None:
                return 0
            self._rest = memoryview(piece)
        count = min(len(buffer), len(self._rest))
        buffer[:count] = self._rest[:count]
        self._rest = self._rest[count:]
        return count
