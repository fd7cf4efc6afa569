"""What a flow check says beside the heads and the catch test of its zone."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final, TypeVar
from uuid import UUID

from audits.domain.diagnosis_evidence import USUAL_METER_ERROR
from audits.domain.flow_checks import Share, caught_share, caught_volume_l, leak_share
from audits.domain.heads import found_nozzle_flow_l_min
from audits.models import CatchTest, FlowCheck
from audits.selectors.head_facts import facts_of
from audits.selectors.zones import ruling_test_rows
from properties.domain.errors import InvalidInputError
from properties.models import Property

Answer = TypeVar("Answer")
PERCENT: Final = 100.0


@dataclass(frozen=True)
class WaterAccount:
    """Where the metered water went; None is unknown, and the remarks say what stood against it."""

    nozzle_flow_l_min: float | None
    leak: Share | None
    caught: Share | None
    remarks: tuple[str, ...]


def water_accounts(checks: Sequence[FlowCheck]) -> dict[UUID, WaterAccount]:
    """Return the account of each check; zone, its property and heads should be prefetched."""
    rows = ruling_test_rows({check.zone_id for check in checks})
    tests = {test.zone_id: test for test in rows}
    return {check.pk: _account(check, tests.get(check.zone_id)) for check in checks}


def stated_meter_error(place: Property) -> float | None:
    """Return the error that is stated of a property's meter, as a fraction; None is unknown."""
    percent = place.meter_error_percent
    return None if percent is None else percent / PERCENT


def _meter_error(check: FlowCheck) -> float:
    """Return the error that the diagnosis takes too: the stated one, or else the usual one."""
    stated = stated_meter_error(check.zone.property)
    return USUAL_METER_ERROR if stated is None else stated


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
    groups = [facts_of(group) for group in check.zone.head_groups.all()]
    return found_nozzle_flow_l_min(groups, check.running_kpa)


def _leak(check: FlowCheck, nozzle_l_min: float | None) -> Share | None:
    if check.flow_l_min is None or nozzle_l_min is None:
        return None
    error_l_min = check.flow_l_min * _meter_error(check)
    return leak_share(check.flow_l_min, nozzle_l_min, metered_error_l_min=error_l_min)


def _caught(check: FlowCheck, test: CatchTest | None) -> Share | None:
    flow, minutes, area_m2 = check.flow_l_min, check.run_min, check.zone.area_m2
    if flow is None or minutes is None or area_m2 is None or test is None:
        return None
    half_width = max(test.rate_high_mm_h - test.rate_mm_h, test.rate_mm_h - test.rate_low_mm_h)
    return caught_share(
        caught_volume_l(test.rate_mm_h, area_m2, minutes),
        flow * minutes,
        caught_relative_error=min(half_width / test.rate_mm_h, 1.0),
        metered_error_l=flow * minutes * _meter_error(check),
    )
