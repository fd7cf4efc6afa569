"""What a treatment asks of the water: that it is watered in, or that the zone stays dry.

The label of the product binds. What stands here only carries its words into the watering plan, and
a local rule may cap what is watered in on days on which watering is otherwise not allowed.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Final

from audits.domain.moments import require_time_zone
from audits.domain.ranges import Range
from properties.domain.errors import InvalidInputError, RefusedError

# 1/4 in.
WATER_IN_MM: Final = 6.35
# Nothing is watered in deeper than a root zone holds.
WATER_IN_RANGE_MM: Final = Range("depth to water in", "mm", 0.1, 50.0)


class TreatmentEffect(StrEnum):
    """What the treatments of a zone ask at a moment."""

    WATER_IN = "water_in"
    HOLD = "hold"
    NONE = "none"


@dataclass(frozen=True)
class WaterInRule:
    """How much a local rule lets be watered in, how soon after the treatment, and whose rule."""

    at_most_mm: float
    within_h: float
    source: str


# Data for the places that have this rule; others have their own or none.
QUARTER_INCH_WITHIN_A_DAY: Final = WaterInRule(
    WATER_IN_MM, 24.0, "Town of Howey-in-the-Hills, Florida, landscape irrigation rule"
)


@dataclass(frozen=True, kw_only=True)
class _Treatment:
    """A treatment from its application to the end of its window; `label` names what binds."""

    applied_at: datetime
    until: datetime
    label: str

    def __post_init__(self) -> None:
        require_time_zone(self.applied_at, field="applied_at")
        require_time_zone(self.until, field="until")
        if self.until <= self.applied_at:
            raise InvalidInputError(
                "The window of the treatment ends before it begins.",
                field="until", code="window-not-positive",
                remedy="Give an end after the application.",
            )  # fmt: skip
        if not self.label.strip():
            raise InvalidInputError(
                "The treatment names no label.",
                field="label", code="missing", remedy="Name the product label that binds.",
            )  # fmt: skip

    def covers(self, at: datetime) -> bool:
        """Whether a moment lies in the window, its first moment included and its last not."""
        return self.applied_at <= require_time_zone(at, field="at") < self.until

    @property
    def binding_text(self) -> str:
        """Return what binds, in a sentence."""
        return f"What the product label says binds over this: {self.label.strip()}."


@dataclass(frozen=True, kw_only=True)
class WaterIn(_Treatment):
    """To be watered in before `until`, with no more than `at_most_mm` in all [mm]."""

    at_most_mm: float = WATER_IN_MM

    def __post_init__(self) -> None:
        super().__post_init__()
        WATER_IN_RANGE_MM.number(self.at_most_mm, field="at_most_mm")


@dataclass(frozen=True, kw_only=True)
class HoldWater(_Treatment):
    """No water before `until`."""


Treatment = WaterIn | HoldWater


def treatment_effect(treatments: Iterable[Treatment], at: datetime) -> TreatmentEffect:
    """Return what the treatments of a zone ask at a moment.

    Where one asks for water and another for none, none is given: water can follow, but what is
    washed off does not come back. `conflicts` finds such pairs for a person to settle.

    Parameters
    ----------
    treatments : all treatments of the zone, in any order.
    at : the moment, with its time zone.

    References
    ----------
    Common practice; the labels of the products bind.
    """
    active = [treatment for treatment in treatments if treatment.covers(at)]
    if any(isinstance(treatment, HoldWater) for treatment in active):
        return TreatmentEffect.HOLD
    return TreatmentEffect.WATER_IN if active else TreatmentEffect.NONE


def water_in_limit_mm(treatments: Iterable[Treatment], at: datetime) -> float | None:
    """Return the depth that may be watered in at a moment [mm], the least of what is allowed.

    Returns
    -------
    None unless the effect at that moment is to water in.
    """
    active = [treatment for treatment in treatments if treatment.covers(at)]
    depths = [each.at_most_mm for each in active if isinstance(each, WaterIn)]
    return min(depths) if depths and len(depths) == len(active) else None


def conflicts(treatments: Iterable[Treatment]) -> tuple[tuple[WaterIn, HoldWater], ...]:
    """Return the pairs of which one asks for water while the other forbids it."""
    every = tuple(treatments)
    return tuple(
        (wet, dry)
        for wet in every
        for dry in every
        if isinstance(wet, WaterIn) and isinstance(dry, HoldWater)
        if wet.applied_at < dry.until and dry.applied_at < wet.until
    )


def check_water_in(treatment: WaterIn, rule: WaterInRule) -> None:
    """Return if a local rule lets this be watered in, or refuse.

    Raises
    ------
    RefusedError
        Code "water-in-too-deep" or "water-in-too-late".
    """
    if treatment.at_most_mm > rule.at_most_mm:
        raise RefusedError(
            f"The local rule lets {rule.at_most_mm:g} mm be watered in ({rule.source}).",
            field="at_most_mm", code="water-in-too-deep",
            remedy="Plan no more than that, or ask for an exemption.",
        )  # fmt: skip
    if treatment.until - treatment.applied_at > timedelta(hours=rule.within_h):
        raise RefusedError(
            f"The local rule gives {rule.within_h:g} hours to water in ({rule.source}).",
            field="until", code="water-in-too-late",
            remedy="End the window within them, or water in on an allowed day.",
        )  # fmt: skip
