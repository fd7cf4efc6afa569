"""Where the heads of a zone stand, each thing looked at in turn: in order, not, or unknown."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from audits.domain.heads import HeadGroupFacts
from audits.domain.nozzles import PRESSURE_KPA
from audits.domain.placement import (
    ABOVE_GROUND_SPRAY,
    TEXAS_PLACEMENT,
    PlacementRule,
    SpacingCheck,
    from_hardscape_ok,
    narrow_strip_ok,
    spacing_against_throw,
)
from properties.domain.site import HeadKind

# USDA NRCS sprinkler practice (from memory): heads within 20 % of their pressure work alike, so
# the published throw stands.
THROW_HOLDS_WITHIN: Final = 0.20
_ROUNDING: Final = 1e-9
_OVERLAP: Final = (
    "Overlap is no fault as such, and helps where wind blows. Act only if water is thrown off the "
    "lawn: then lower the throw of the heads at its edge, and see that no gap opens."
)


class Placed(StrEnum):
    """How a thing stands to the rule."""

    OK = "ok"
    NOT_OK = "not_ok"
    UNKNOWN = "unknown"


class PlacementTopic(StrEnum):
    """What is looked at."""

    SPACING = "spacing"
    NARROW_STRIP = "narrow_strip"
    GAP_TO_PAVING = "gap_to_paving"


@dataclass(frozen=True, kw_only=True)
class PlacementFacts:
    """Where heads stand; None is unknown.

    spacing_m between neighbouring heads [m]; running_kpa found at the heads [kPa]; strip_width_m
    narrowest planted width [m]; gap_m from the paving to the nearest head [m].
    """

    kind: HeadKind
    groups: tuple[HeadGroupFacts, ...] = ()
    spacing_m: float | None = None
    running_kpa: float | None = None
    strip_width_m: float | None = None
    is_bounded_by_paving: bool | None = None
    gap_m: float | None = None


@dataclass(frozen=True)
class PlacementCheck:
    """One thing in words; `group` counts the zone's groups from 0, None is the whole zone."""

    topic: PlacementTopic
    verdict: Placed
    sentence: str
    remedy: str = ""
    group: int | None = None


def placement_checks(
    facts: PlacementFacts, rule: PlacementRule = TEXAS_PLACEMENT
) -> tuple[PlacementCheck, ...]:
    """Return how the heads of a zone stand to each other, to narrow strips and to paving.

    Parameters
    ----------
    facts : what is known.
    rule : the region's.

    Raises
    ------
    InvalidInputError
        Code "out-of-range" for a length that cannot be.

    References
    ----------
    See `spacing_against_throw`, `narrow_strip_ok` and `from_hardscape_ok`.
    """
    return (
        *_spacing(facts, rule),
        _strip(facts, rule),
        _gap(facts, rule),
    )


def _spacing(facts: PlacementFacts, rule: PlacementRule) -> Iterator[PlacementCheck]:
    throwing = [
        (number, group)
        for number, group in enumerate(facts.groups)
        if group.kind in ABOVE_GROUND_SPRAY and group.kind is not HeadKind.HOSE_END
    ]
    for number, group in throwing:
        yield _spacing_of(group, number, facts, rule)
    if not throwing:
        yield _no_throwing_heads(facts)


def _no_throwing_heads(facts: PlacementFacts) -> PlacementCheck:
    topic = PlacementTopic.SPACING
    if facts.kind in ABOVE_GROUND_SPRAY and facts.kind is not HeadKind.HOSE_END:
        return _unknown(topic, "The zone's heads are not listed.", "Enter the heads.")
    sentence = "Nothing here throws from a fixed place, so no spacing is asked."
    return PlacementCheck(topic, Placed.OK, sentence)


def _spacing_of(
    group: HeadGroupFacts, number: int, facts: PlacementFacts, rule: PlacementRule
) -> PlacementCheck:
    topic = PlacementTopic.SPACING
    if group.throw_m is None:
        return _unknown(
            topic, "The throw of these heads is unknown.",
            "Enter the published throw at their rated pressure.", number,
        )  # fmt: skip
    if facts.spacing_m is None:
        return _unknown(
            topic, "How far apart the heads stand is unknown.",
            "Measure from head to head and enter it as the head spacing.", number,
        )  # fmt: skip
    if not _throw_holds(group, facts.running_kpa):
        return _unknown(
            topic, "The pressure found is far from that of the published throw.",
            "Look up the throw at the pressure found, and enter it with that pressure.", number,
        )  # fmt: skip
    check = spacing_against_throw(facts.spacing_m, group.throw_m, rule)
    return PlacementCheck(topic, *_words_of_spacing(check, rule), number)


def _throw_holds(group: HeadGroupFacts, running_kpa: float | None) -> bool:
    """Say whether the published throw may be taken; where a pressure is unknown it is."""
    if running_kpa is None or group.rated_kpa is None:
        return True
    found = PRESSURE_KPA.number(running_kpa, field="running_kpa")
    return abs(found / group.rated_kpa - 1.0) <= THROW_HOLDS_WITHIN + _ROUNDING


def _words_of_spacing(check: SpacingCheck, rule: PlacementRule) -> tuple[Placed, str, str]:
    """Return verdict, sentence and cure.

    Heads that overlap more than the rule foresees break it, but water no worse (common practice):
    shorter nozzles may open gaps where there were none.
    """
    wide = f"The heads stand {abs(check.excess):.0%} {'farther' if check.excess > 0 else 'nearer'}"
    if not check.is_within_tolerance:
        beyond = f"{wide} than they throw; {rule.source} allows {rule.spacing_tolerance:.0%}."
        remedy = "Fit nozzles of longer throw, or add heads." if check.excess > 0 else _OVERLAP
        return Placed.NOT_OK, beyond, remedy
    if not check.reaches_next_head:
        return (
            Placed.OK,
            f"{wide} than they throw: within the rule, but no head reaches the next.",
            "A slightly longer throw closes the gap.",
        )
    return Placed.OK, "Each head reaches the next.", ""


def _strip(facts: PlacementFacts, rule: PlacementRule) -> PlacementCheck:
    topic = PlacementTopic.NARROW_STRIP
    kinds = _kinds(facts)
    if not kinds & ABOVE_GROUND_SPRAY:
        return PlacementCheck(topic, Placed.OK, "Nothing here sprays above the ground.")
    if facts.is_bounded_by_paving is None:
        return _unknown(
            topic, "Whether paving bounds the zone is unknown.",
            "Enter whether people walk or drive along its sides.",
        )  # fmt: skip
    if not facts.is_bounded_by_paving:
        return PlacementCheck(topic, Placed.OK, "No paving bounds the zone.")
    if facts.strip_width_m is None:
        return _unknown(
            topic, "How wide the zone is between the paving is unknown.",
            "Measure its narrowest planted width.",
        )  # fmt: skip
    width = facts.strip_width_m
    if all(narrow_strip_ok(kind, width, is_bounded_by_paving=True, rule=rule) for kind in kinds):
        return PlacementCheck(topic, Placed.OK, "The strip is wide enough for spray.")
    return PlacementCheck(
        topic, Placed.NOT_OK, "Heads spray above the ground in a strip too narrow for it.",
        "Water the strip by drip or bubblers.",
    )  # fmt: skip


def _gap(facts: PlacementFacts, rule: PlacementRule) -> PlacementCheck:
    topic = PlacementTopic.GAP_TO_PAVING
    if not _kinds(facts) & ABOVE_GROUND_SPRAY - {HeadKind.HOSE_END}:
        return PlacementCheck(topic, Placed.OK, "No sprinkler stands fixed in the ground.")
    if facts.is_bounded_by_paving is False:
        return PlacementCheck(topic, Placed.OK, "No paving bounds the zone.")
    if facts.gap_m is None:
        return _unknown(
            topic, "How near the heads stand to the paving is unknown.",
            "Measure from the paving to the head nearest to it.",
        )  # fmt: skip
    if from_hardscape_ok(facts.gap_m, rule):
        return PlacementCheck(topic, Placed.OK, "The heads keep their distance from the paving.")
    return PlacementCheck(
        topic, Placed.NOT_OK, "A head stands too near to the paving.",
        "Move it away from the edge, and set its arc to the edge again.",
    )  # fmt: skip


def _kinds(facts: PlacementFacts) -> frozenset[HeadKind]:
    listed: Iterable[HeadKind] = (group.kind for group in facts.groups)
    return frozenset(listed) or frozenset({facts.kind})


def _unknown(
    topic: PlacementTopic, sentence: str, remedy: str, group: int | None = None
) -> PlacementCheck:
    return PlacementCheck(topic, Placed.UNKNOWN, sentence, remedy, group)
