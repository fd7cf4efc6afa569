"""The bytes of spreadsheets that are sent in: bounded, and kept in parts of a megabyte."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from io import SEEK_END
from itertools import count
from typing import IO, Final

from django.conf import settings

from properties.domain.errors import InvalidInputError
from properties.models import Import
from properties.models.imports import ImportPart

PIECE_BYTES: Final = 1 << 20
FORM_BYTES: Final = 64 * 1024
"""What the form around a file may take."""


def max_bytes() -> int:
    """Return how large a file may be [bytes]; setting IMPORT_MAX_BYTES."""
    return int(settings.IMPORT_MAX_BYTES)


def check_sent_bytes(size_bytes: int) -> None:
    """Refuse a file by what its sender says of its size [bytes], before it is taken in."""
    if size_bytes > max_bytes() + FORM_BYTES:
        _check_size(size_bytes)


def size_of(sent: IO[bytes]) -> int:
    """Return the size of a file [bytes]; an empty or too large one is refused."""
    size_bytes = sent.seek(0, SEEK_END)
    _check_size(size_bytes)
    return size_bytes


def sent_pieces(sent: IO[bytes]) -> Iterator[bytes]:
    """Yield a file that is being sent, from its beginning."""
    sent.seek(0)
    while piece := sent.read(PIECE_BYTES):
        yield piece


def stored_pieces(sheet: Import) -> Iterator[bytes]:
    """Yield a file that is kept, one part in memory at a time."""
    for number in count():
        part = sheet.parts.filter(number=number).first()
        if part is None:
            return
        yield bytes(part.content)


def store_parts(sheet: Import, sent: IO[bytes]) -> None:
    """Keep the bytes of a file until it was written, or will not be."""
    for number, piece in enumerate(sent_pieces(sent)):
        ImportPart.objects.create(sheet=sheet, number=number, content=piece)


def digest_of(sent: IO[bytes]) -> str:
    """Return by what a file is known again."""
    digest = hashlib.sha256()
    for piece in sent_pieces(sent):
        digest.update(piece)
    return digest.hexdigest()


def _check_size(size_bytes: int) -> None:
    if not size_bytes:
        raise InvalidInputError(
            "The file is empty.", field="file", code="empty-file", remedy="Send a full one."
        )
    if size_bytes > max_bytes():
        raise InvalidInputError(
            f"The file is larger than {max_bytes() / 2**20:g} MB.",
            field="file", code="file-too-large", remedy="Divide it, and send the parts.",
        )  # fmt: skip
