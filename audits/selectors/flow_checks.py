"""What a flow check says beside the heads and the catch test of its zone."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeVar
from uuid import UUID

from audits.domain.flow_checks import Share, caught_share, caught_volume_l, leak_share
from audits.domain.heads import HeadGroupFacts, zone_nozzle_flow_l_min
from audits.models import CatchTest, FlowCheck
from audits.selectors.zones import ruling_tests
from properties.domain.errors import InvalidInputError
from properties.domain.site import HeadKind
from properties.models import HeadGroup

Answer = TypeVar("Answer")


@dataclass(frozen=True)
class WaterAccount:
    """Where the metered water went; None is unknown, and the remarks say what stood against it."""

    nozzle_flow_l_min: float | None
    leak: Share | None
    caught: Share | None
    remarks: tuple[str, ...]


def water_accounts(checks: Sequence[FlowCheck]) -> dict[UUID, WaterAccount]:
    """Return the account of each check; its zone and the zone's heads should be prefetched."""
    tests = ruling_tests({check.zone_id for check in checks})
    return {check.pk: _account(check, tests.get(check.zone_id)) for check in checks}


def _account(check: FlowCheck, test: CatchTest | None) -> WaterAccount:
    remarks: list[str] = []
    nozzle_l_min = _told(lambda: _nozzle_flow_l_min(check), remarks)
    leak = _told(lambda: _leak(check, nozzle_l_min), remarks)
    caught = _told(lambda: _caught(check, test), remarks)
    return WaterAccount(nozzle_l_min, leak, caught, tuple(dict.fromkeys(remarks)))


def _told(compute: Callable[[], Answer | None], remarks: list[str]) -> Answer | None:
    """Return what the domain computes, or note why it cannot."""
    try:
        return compute()
    except InvalidInputError as refusal:
        remarks.append(f"{refusal.detail} {refusal.remedy}")
        return None


def _nozzle_flow_l_min(check: FlowCheck) -> float | None:
    if check.running_kpa is None:
        return None
    groups = [_facts(group) for group in check.zone.head_groups.all()]
    return zone_nozzle_flow_l_min(groups, check.running_kpa)


def _facts(group: HeadGroup) -> HeadGroupFacts:
    return HeadGroupFacts(
        kind=HeadKind(group.kind),
        count=group.count,
        rated_flow_l_min=group.rated_flow_l_min,
        rated_kpa=group.rated_pressure_kpa,
    )


def _leak(check: FlowCheck, nozzle_l_min: float | None) -> Share | None:
    if check.flow_l_min is None or nozzle_l_min is None:
        return None
    return leak_share(check.flow_l_min, nozzle_l_min)


def _caught(check: FlowCheck, test: CatchTest | None) -> Share | None:
    flow, minutes, area_m2 = check.flow_l_min, check.run_min, check.zone.area_m2
    if flow is None or minutes is None or area_m2 is None or test is None:
        return None
    half_width = max(test.rate_high_mm_h - test.rate_mm_h, test.rate_mm_h - test.rate_low_mm_h)
    return caught_share(
        caught_volume_l(test.rate_mm_h, area_m2, minutes),
        flow * minutes,
        caught_relative_error=min(half_width / test.rate_mm_h, 1.0),
    )
