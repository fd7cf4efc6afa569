"""Time-ordered row ids that any party can make without asking the database."""

from __future__ import annotations

import os
import time
import uuid
from datetime import UTC, datetime, timedelta
from typing import Final

from properties.domain.errors import InvalidInputError

_NS_PER_MS = 1_000_000
_VERSION: Final = 7
EARLIEST: Final = datetime(2020, 1, 1, tzinfo=UTC)
FASTEST_CLOCK: Final = timedelta(days=1)


def uuid7() -> uuid.UUID:
    """Return a new version 7 UUID: 48 bits of Unix milliseconds, 12 of their part, 62 random.

    With a quarter of a microsecond to tell them apart, the ids that one process makes come out in
    their order.

    References
    ----------
    RFC 9562, section 5.7, and section 6.2, method 3.
    """
    milliseconds, nanoseconds = divmod(time.time_ns(), _NS_PER_MS)
    value = (milliseconds & (1 << 48) - 1) << 80
    value |= 0x7 << 76
    value |= (nanoseconds << 12) // _NS_PER_MS << 64
    value |= 0b10 << 62
    value |= int.from_bytes(os.urandom(8), "big") & (1 << 62) - 1
    return uuid.UUID(int=value)


def check_client_id(value: uuid.UUID, *, now: datetime) -> None:
    """Refuse an id that a client did not make as we do: by version 7, at a moment to be believed.

    Rows are told apart and put in their order by it. A clock may be a day ahead, and work may be
    sent late by years.

    References
    ----------
    RFC 9562, section 5.7.
    """
    if value.variant != uuid.RFC_4122 or value.version != _VERSION:
        raise InvalidInputError(
            f"{value} is no UUID of version 7.",
            field="id", code="id-version", remedy="Make a UUIDv7, or leave the id out.",
        )  # fmt: skip
    made_at = datetime.fromtimestamp(0, UTC) + timedelta(milliseconds=value.int >> 80)
    if not EARLIEST <= made_at <= now + FASTEST_CLOCK:
        raise InvalidInputError(
            f"The id {value} says that it was made on {made_at:%Y-%m-%d}.",
            field="id", code="id-time", remedy="Set the clock right and make a new UUIDv7.",
        )  # fmt: skip
