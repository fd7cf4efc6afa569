"""Where the heads of a stored zone stand, against the rule of a region."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from audits.domain.placement import TEXAS_PLACEMENT, PlacementRule
from audits.domain.placement_checks import PlacementCheck, PlacementFacts, placement_checks
from audits.selectors.head_facts import facts_of
from properties.domain.errors import InvalidInputError, RefusedError
from properties.domain.site import HeadKind
from properties.models import HeadGroup, Zone

CAUTION: Final = (
    "The limits are those of one region's rule; local rules may differ. Where no rule binds, they "
    "are good practice."
)


@dataclass(frozen=True)
class ZonePlacement:
    """The checks of a zone, the groups that they name, and the rule that they stand on."""

    zone: Zone
    groups: tuple[HeadGroup, ...]
    running_kpa: float | None
    rule: PlacementRule
    checks: tuple[PlacementCheck, ...]
    caution: str = CAUTION


def zone_placement(zone: Zone, rule: PlacementRule = TEXAS_PLACEMENT) -> ZonePlacement:
    """Return how the heads of a zone stand, by the pressure that its newest flow check found.

    Raises
    ------
    RefusedError
        Where what is stored cannot be, such as a throw of a tenth of a foot.
    """
    groups = tuple(zone.head_groups.all())
    running_kpa = _running_kpa(zone)
    try:
        checks = placement_checks(_facts(zone, groups, running_kpa), rule)
    except InvalidInputError as absurd:
        raise RefusedError(
            absurd.detail, code="unbelievable-zone", field="zone",
            remedy="Check the zone's lengths and its heads.",
        ) from absurd  # fmt: skip
    return ZonePlacement(zone, groups, running_kpa, rule, checks)


def _facts(zone: Zone, groups: Sequence[HeadGroup], running_kpa: float | None) -> PlacementFacts:
    return PlacementFacts(
        kind=HeadKind(zone.head_kind),
        groups=tuple(facts_of(group) for group in groups),
        spacing_m=zone.head_spacing_m,
        running_kpa=running_kpa,
        strip_width_m=zone.strip_width_m,
        is_bounded_by_paving=zone.is_bounded_by_paving,
        gap_m=zone.least_paving_gap_m,
    )


def _running_kpa(zone: Zone) -> float | None:
    check = zone.flow_checks.filter(running_kpa__isnull=False).first()
    return check.running_kpa if check else None
