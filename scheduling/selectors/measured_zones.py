"""What was measured of zones, and which of it a repair has outdone."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from uuid import UUID

from audits.models import CatchTest, EmitterCheck
from audits.selectors.emitter_checks import newest_emitter_check
from audits.selectors.mended_zones import mended_since
from properties.domain.site import HeadKind
from properties.models import Zone


def mended_on(zones: Sequence[Zone], tests: Mapping[UUID, CatchTest]) -> dict[UUID, date]:
    """Return for each zone that was mended after it was measured the day of the repair."""
    measured: dict[UUID, CatchTest | EmitterCheck] = {}
    for zone in zones:
        told_by = tests.get(zone.pk) or measuring_check(zone)
        if told_by is not None:
            measured[zone.pk] = told_by
    return mended_since(zones, measured)


def measuring_check(zone: Zone) -> EmitterCheck | None:
    """Return the check that tells the emitters of a drip zone; a prefetch serves."""
    return newest_emitter_check(zone) if zone.head_kind == HeadKind.DRIP else None
