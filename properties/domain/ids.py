"""Time-ordered row ids that any party can make without asking the database."""

from __future__ import annotations

import os
import time
import uuid


def uuid7() -> uuid.UUID:
    """Return a new version 7 UUID: 48 bits of Unix milliseconds, then 74 random bits.

    References
    ----------
    RFC 9562, section 5.7.
    """
    milliseconds = time.time_ns() // 1_000_000
    random_bits = int.from_bytes(os.urandom(10), "big")
    value = (milliseconds & (1 << 48) - 1) << 80
    value |= 0x7 << 76
    value |= (random_bits >> 62 & 0xFFF) << 64
    value |= 0b10 << 62
    value |= random_bits & (1 << 62) - 1
    return uuid.UUID(int=value)
