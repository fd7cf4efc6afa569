"""Version 7 UUIDs."""

from __future__ import annotations

import uuid

import pytest
from hypothesis import given
from hypothesis import strategies as st

from properties.domain import ids
from properties.domain.ids import uuid7


def _frozen(monkeypatch, *, milliseconds: int, random_bits: int, nanoseconds: int = 0) -> None:
    monkeypatch.setattr(ids.time, "time_ns", lambda: milliseconds * 1_000_000 + nanoseconds)
    monkeypatch.setattr(ids.os, "urandom", lambda count: random_bits.to_bytes(count, "big"))


def test_the_bits_lie_as_in_the_published_example(monkeypatch):
    """RFC 9562, appendix A.6: unix_ts_ms 0x017F22E279B0, rand_a 0xCC3, rand_b 0x18C4DC0C0C07398F.

    0xCC3 of 0x1000 of a millisecond are 797 608 ns.
    """
    _frozen(
        monkeypatch, milliseconds=0x017F22E279B0, random_bits=0x18C4DC0C0C07398F,
        nanoseconds=797_608,
    )  # fmt: skip

    assert uuid7() == uuid.UUID("017F22E2-79B0-7CC3-98C4-DC0C0C07398F")


def test_ids_made_one_after_the_other_are_in_order():
    made = [uuid7() for _ in range(5000)]

    assert made == sorted(made)


def test_version_and_variant_survive_any_random_bits(monkeypatch):
    for random_bits in (0, (1 << 64) - 1):
        _frozen(monkeypatch, milliseconds=(1 << 48) - 1, random_bits=random_bits)

        made = uuid7()

        assert made.version == 7
        assert made.variant == uuid.RFC_4122
        assert made.int >> 80 == (1 << 48) - 1


@given(st.integers(0, (1 << 48) - 2), st.integers(0, (1 << 64) - 1), st.integers(0, (1 << 64) - 1))
def test_a_later_millisecond_sorts_later_whatever_the_random_bits(millisecond, first, second):
    with pytest.MonkeyPatch.context() as patch:
        _frozen(patch, milliseconds=millisecond, random_bits=first)
        earlier = uuid7()
        _frozen(patch, milliseconds=millisecond + 1, random_bits=second)
        later = uuid7()

    assert earlier < later
    assert str(earlier) < str(later)


def test_a_thousand_of_one_moment_differ():
    assert len({uuid7() for _ in range(1000)}) == 1000


def test_the_clock_of_the_machine_is_in_it():
    before = ids.time.time_ns() // 1_000_000
    made = uuid7()
    after = ids.time.time_ns() // 1_000_000

    assert before <= made.int >> 80 <= after
