"""What more heads on a zone would do to each of them, by the supply that was measured."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from audits.domain.heads import MAY_COMPENSATE
from audits.domain.supply_curve import (
    HeadsOnSupply,
    SupplyCurve,
    heads_on_supply,
    is_below_working,
    working_pressure_kpa,
)
from audits.models import FlowCheck
from audits.selectors.head_facts import facts_of
from audits.selectors.remarks import Remark, told
from audits.selectors.supplies import supply_of_zone
from properties.domain.errors import InvalidInputError
from properties.domain.site import HeadKind
from properties.models import HeadGroup, Zone

HEADS_MORE: Final = 4
# Common practice: a list of nozzles that is right meets the pressure that was found within a tenth.
PRESSURE_TOLERANCE: Final = 0.10


@dataclass(frozen=True)
class MoreHeads:
    """The heads of a zone now and with more of them; empty where the remarks say why."""

    zone: Zone
    heads_now: int
    check: FlowCheck | None
    rows: tuple[HeadsOnSupply, ...]
    remarks: tuple[Remark, ...]


def more_heads(zone: Zone, heads: Sequence[int] | None = None) -> MoreHeads:
    """Return how so many heads would do; without counts those now and up to four more."""
    groups = list(zone.head_groups.all())
    now = sum(group.count for group in groups)
    remarks: list[Remark] = []
    told(lambda: _check_run_together(groups), remarks)
    found = None if remarks else told(lambda: supply_of_zone(zone), remarks)
    if found is None:
        return MoreHeads(zone, now, None, (), tuple(remarks))
    check, supply = found
    counts = tuple(range(max(now, 1), now + HEADS_MORE + 1)) if heads is None else heads
    facts = [facts_of(group) for group in groups]
    rows = told(lambda: heads_on_supply(counts, facts, supply), remarks) or ()
    if rows:
        remarks += _of_mixture(groups) + _of_gauge(working_pressure_kpa(facts, supply), supply)
        remarks += _of_compensating(groups) + _of_pressure(groups, rows)
    return MoreHeads(zone, now, check, rows, tuple(remarks))


def _check_run_together(groups: Sequence[HeadGroup]) -> None:
    if len([group for group in groups if group.kind == HeadKind.HOSE_END]) > 1:
        raise InvalidInputError(
            "The sprinklers of this zone stand at several positions, not on one line.",
            field="heads", code="several-positions",
            remedy="Ask for the zone's hose positions: each tells its sprinklers in tandem.",
        )  # fmt: skip


def _of_mixture(groups: Sequence[HeadGroup]) -> list[Remark]:
    if len({(group.rated_flow_l_min, group.rated_pressure_kpa) for group in groups}) == 1:
        return []
    return [
        Remark(
            "mean-head", "heads", "The heads are not all alike; each counts as their mean.",
            "Match the heads first, then add to them.",
        )
    ]  # fmt: skip


def _of_gauge(working_kpa: float, supply: SupplyCurve) -> list[Remark]:
    """Say where the list of heads and the gauge disagree: more heads are no surer than that."""
    found_kpa = supply.measured_running_kpa
    if abs(working_kpa - found_kpa) <= PRESSURE_TOLERANCE * found_kpa:
        return []
    return [
        Remark(
            "heads-against-gauge", "rated_flow",
            "The heads as listed do not come to the pressure and flow that were found.",
            "Check number, flow and rated pressure of the heads, and look for a leak.",
        )
    ]  # fmt: skip


def _of_compensating(groups: Sequence[HeadGroup]) -> list[Remark]:
    if not any(group.kind in MAY_COMPENSATE for group in groups):
        return []
    return [
        Remark(
            "may-compensate", "kind",
            "Drip or bubblers that compensate for the pressure keep their flow, until the pressure"
            " falls below what they need; these numbers are those of plain openings.",
            "Hold flow and pressure against the emitters' own table.",
        )
    ]  # fmt: skip


def _of_pressure(groups: Sequence[HeadGroup], rows: Sequence[HeadsOnSupply]) -> list[Remark]:
    """Say from how many heads on some of them no longer work as they are made to."""
    rated = [
        group.rated_pressure_kpa
        for group in groups
        if group.kind not in MAY_COMPENSATE and group.rated_pressure_kpa
    ]
    weak = [row for row in rows if rated and is_below_working(row.working_kpa, max(rated))]
    if not weak:
        return []
    first = min(weak, key=lambda row: row.heads)
    return [
        Remark(
            "below-working-pressure", "working_pressure",
            f"With {first.heads} heads {first.working_kpa / max(rated):.0%} of the pressure that"
            " they are made for is left: they throw short and unevenly.",
            "Keep to fewer heads, divide the zone, or fit heads for lower flow or pressure.",
        )
    ]  # fmt: skip
