"""All catch tests of a zone in order, which of them rules, and where they are heading."""

from __future__ import annotations

from collections.abc import Sequence, Set
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from uuid import UUID

from audits.domain.trends import Trend, trend
from audits.models import CatchTest
from properties.models import Zone


class ForceOfTest(StrEnum):
    """What a test is worth today; `earlier` counts for the trend and is outdone by a newer one."""

    RULES = "rules"
    EARLIER = "earlier"
    SUPERSEDED = "superseded"
    VOIDED = "voided"
    BEFORE_MENDING = "before_mending"


@dataclass(frozen=True)
class StatedTest:
    test: CatchTest
    state: ForceOfTest


@dataclass(frozen=True)
class ZoneHistory:
    """Tests from the oldest on; the trends stand on those that rule or ruled."""

    zone: Zone
    tests: tuple[StatedTest, ...]
    rate_trend: Trend
    du_lq_trend: Trend


def zone_history(zone: Zone) -> ZoneHistory:
    """Return the tests of a zone from the oldest on, each with its state, and the trends."""
    rows = list(zone.catch_tests.order_by("taken_at", "id"))
    superseded = {row.supersedes_id for row in rows if row.voided_at is None}
    told = [(row, _lost_force(row, superseded)) for row in rows]
    valid = [row for row, lost in told if lost is None]
    ruling = valid[-1:]
    tests = tuple(
        StatedTest(row, lost or (ForceOfTest.RULES if row in ruling else ForceOfTest.EARLIER))
        for row, lost in told
    )
    even = [row for row in valid if row.du_lq is not None]
    return ZoneHistory(
        zone=zone,
        tests=tests,
        rate_trend=trend(_moments(valid), [row.rate_mm_h for row in valid]),
        du_lq_trend=trend(_moments(even), [row.du_lq for row in even if row.du_lq is not None]),
    )


def _lost_force(test: CatchTest, superseded: Set[UUID | None]) -> ForceOfTest | None:
    if test.voided_at is not None:
        return ForceOfTest.VOIDED
    if test.pk in superseded:
        return ForceOfTest.SUPERSEDED
    return ForceOfTest.BEFORE_MENDING if test.before_mending else None


def _moments(tests: Sequence[CatchTest]) -> list[datetime]:
    return [test.taken_at for test in tests]
