"""Recording catch tests: what was entered is computed in the domain, then stored with its cups."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Final

from django.db import transaction

from audits.domain.catch_cups import (
    CupShape,
    depth_mm_from_volume,
    ruler_depths_mm,
    same_throat_area_cm2,
)
from audits.domain.catch_test import (
    CatchTest as Result,
)
from audits.domain.catch_test import (
    catch_test,
    pooled_catch_test,
    pooled_catch_test_from_volume,
)
from audits.domain.ranges import Range
from audits.models import CatchTest, CupReading
from audits.services.field_records import check_may_record, check_zone_of_property
from audits.services.ruling_tests import telling_of_ruling_test
from audits.services.void_tests import check_may_supersede
from properties.domain.errors import InvalidInputError
from properties.domain.site import HeadKind
from properties.models import StaffMember
from properties.services.rows import add_row

WAYS: Final = ("depths_mm", "volumes_ml", "pooled_depth_mm", "pooled_volume_ml")
# What the domain calls the readings, in whichever of the four ways they came.
DOMAIN_READINGS: Final = frozenset({"depths_mm", "volume_ml"})
# No sprinkler or dripper is slower or faster, and the plan of a zone takes no other rate.
RATE_MM_H: Final = Range("rate of a zone", "mm/h", 0.1, 1000.0)


@dataclass(frozen=True, kw_only=True)
class Catch:
    """What the cups showed, in one of four ways: depths or volumes, single or poured together."""

    run_min: float
    cup_shape: CupShape
    depths_mm: Sequence[float] | None = None
    volumes_ml: Sequence[float] | None = None
    pooled_depth_mm: float | None = None
    pooled_volume_ml: float | None = None
    pooled_cups: int | None = None
    throat_areas_cm2: Sequence[float] = field(default_factory=tuple)

    def throat_area_cm2(self) -> float | None:
        return same_throat_area_cm2(self.throat_areas_cm2) if self.throat_areas_cm2 else None


def compute_catch(catch: Catch, head_kind: HeadKind) -> Result:
    """Return what the cups say, by the one way in which they were read; refusals name that way."""
    way = _one_way(catch)
    try:
        result = _compute(catch, head_kind)
    except InvalidInputError as refusal:
        if refusal.field in DOMAIN_READINGS:
            refusal.field = way
        raise
    _check_throat_areas(catch, result)
    RATE_MM_H.numbers(
        result.rate_mm_h,
        field="run_min",
        remedy="Check the minutes of the run and what the cups caught, and their units.",
    )
    return result


def _compute(catch: Catch, head_kind: HeadKind) -> Result:
    if catch.pooled_volume_ml is not None:
        return pooled_catch_test_from_volume(
            catch.pooled_volume_ml, _pooled_cups(catch), catch.throat_area_cm2(), catch.run_min,
            head_kind=head_kind,
        )  # fmt: skip
    if catch.pooled_depth_mm is not None:
        ruler_depths_mm([catch.pooled_depth_mm], catch.cup_shape)
        return pooled_catch_test(
            catch.pooled_depth_mm, _pooled_cups(catch), catch.run_min, head_kind
        )
    if catch.volumes_ml is not None:
        depths = depth_mm_from_volume(catch.volumes_ml, catch.throat_area_cm2())
        return catch_test(depths, catch.run_min, head_kind)
    depths = ruler_depths_mm(catch.depths_mm or (), catch.cup_shape)
    return catch_test(depths, catch.run_min, head_kind)


@transaction.atomic
def record_catch_test(
    values: Mapping[str, Any],
    catch: Catch,
    *,
    positions_m: Sequence[tuple[float, float]] = (),
    actor: StaffMember,
    now: datetime,
) -> CatchTest:
    """Store a test of a zone at a visit: the entered values, the result, and each cup.

    It may supersede an earlier test of the zone, which stays as it is and rules no more.
    """
    visit, zone = values["visit"], values["zone"]
    taken_at = values.get("taken_at", now)
    check_may_record(visit, actor=actor, happened_at=taken_at, now=now)
    check_zone_of_property(zone, visit.property_id)
    if (superseded := values.get("supersedes")) is not None:
        check_may_supersede(superseded, zone=zone, taken_at=taken_at)
    result = compute_catch(catch, HeadKind(zone.head_kind))
    _check_positions(positions_m, result)
    with telling_of_ruling_test(visit, zone.pk, actor=actor, now=now):
        test = add_row(
            CatchTest,
            {**values, "taken_at": taken_at, **_result_columns(catch, result)},
            actor=actor, now=now, act="tested",
        )  # fmt: skip
        CupReading.objects.bulk_create(_readings(test, result, positions_m))
    return test


def _one_way(catch: Catch) -> str:
    given = [name for name in WAYS if getattr(catch, name) is not None]
    if len(given) != 1:
        raise InvalidInputError(
            "A test is read in one way." if given else "What the cups caught is missing.",
            field=given[-1] if given else "depths_mm", code="one-reading",
            remedy="Send depths or volumes, of single cups or poured together: one of the four.",
        )  # fmt: skip
    return given[0]


def _check_throat_areas(catch: Catch, result: Result) -> None:
    if len(catch.throat_areas_cm2) not in (0, 1, result.cups):
        raise InvalidInputError(
            f"{len(catch.throat_areas_cm2)} throat areas were sent for {result.cups} cups.",
            field="throat_areas_cm2", remedy="Send one area for all cups, or one for each.",
        )  # fmt: skip


def _pooled_cups(catch: Catch) -> int:
    if catch.pooled_cups is None:
        raise InvalidInputError(
            "How many cups were poured together is missing.",
            field="pooled_cups", code="missing", remedy="Send the number of cups.",
        )  # fmt: skip
    return catch.pooled_cups


def _check_positions(positions_m: Sequence[tuple[float, float]], result: Result) -> None:
    if positions_m and len(positions_m) != len(result.depths_mm):
        raise InvalidInputError(
            f"{len(positions_m)} positions were sent for {len(result.depths_mm)} single cups.",
            field="positions", remedy="Send one position for each cup, or none.",
        )  # fmt: skip


def _result_columns(catch: Catch, result: Result) -> dict[str, Any]:
    return {
        "run_min": result.duration_min,
        "is_pooled": result.is_pooled,
        "cups": result.cups,
        "cup_shape": catch.cup_shape,
        "throat_area_cm2": catch.throat_area_cm2(),
        "mean_depth_mm": result.mean_depth_mm,
        "rate_mm_h": result.rate_mm_h,
        "rate_low_mm_h": result.rate_interval_mm_h[0],
        "rate_high_mm_h": result.rate_interval_mm_h[1],
        "du_lq": result.du_lq,
        "du_lh": result.du_lh,
        "cu": result.cu,
    }


def _readings(
    test: CatchTest, result: Result, positions_m: Sequence[tuple[float, float]]
) -> list[CupReading]:
    places: Sequence[tuple[float | None, float | None]]
    places = positions_m or [(None, None)] * len(result.depths_mm)
    return [
        CupReading(test=test, number=number, depth_mm=depth_mm, x_m=x_m, y_m=y_m)
        for number, (depth_mm, (x_m, y_m)) in enumerate(
            zip(result.depths_mm, places, strict=True), start=1
        )
    ]
