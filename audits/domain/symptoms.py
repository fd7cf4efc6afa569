"""Whether the water of a zone explains what is seen on its plants, and how sure that is.

Common practice: too much water brings disease, too little most often insects, and low spots that
catch runoff get disease first. Plants wilt over dry roots, and over roots that stand wet; some
patch diseases are worse on dry turf. That says what water favours. What ails a plant is for those
who are licensed and equipped to name it, and so is any remedy beyond water.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from audits.domain.ranges import FRACTION
from audits.domain.supply import Supply
from audits.domain.symptom_words import (
    ASK,
    Confidence,
    Explains,
    SymptomKind,
    verdict_sentence,
)
from audits.domain.water_record import FoundAgainstNeed, WaterRecord

# Below it the cups say that a zone is watered unevenly (common practice).
UNEVEN_BELOW_DU_LQ: Final = 0.55
# Points of evidence from which on an answer is more than a guess, and more than likely.
MEDIUM_FROM: Final = 2
HIGH_FROM: Final = 3

_WET_SYMPTOMS: Final = {
    SymptomKind.RING_OR_PATCH_DISEASE,
    SymptomKind.MOSS_OR_ALGAE,
    SymptomKind.PUDDLING,
}
# What the contrary of their own water may bring too, so that it never speaks them free: roots that
# stand wet cannot draw water (common agronomy); some patch diseases are worse on dry turf (from
# memory).
_EITHER_WAY: Final = {SymptomKind.DROUGHT_STRESS, SymptomKind.RING_OR_PATCH_DISEASE}
# Water alone makes these. For what lives on a plant it is one condition of several.
_WATER_ALONE: Final = {SymptomKind.DROUGHT_STRESS, SymptomKind.PUDDLING}


class Spot(StrEnum):
    """Where in the zone the symptom stands."""

    DRY = "dry"
    WET = "wet"
    EVERYWHERE = "everywhere"


_AMOUNT: Final[dict[Supply, str]] = {
    Supply.TOO_LITTLE: "too little for the need",
    Supply.ABOUT_RIGHT: "about what is needed",
    Supply.TOO_MUCH: "too much for the need",
}
_PLACE: Final[dict[Spot, str]] = {
    Spot.DRY: "It is seen where the ground is dry.",
    Spot.WET: "It is seen where the ground is wet.",
    Spot.EVERYWHERE: "It is seen all over the zone.",
}


@dataclass(frozen=True)
class WaterVerdict:
    """What the water says of a symptom, how surely and by what; and who can say more."""

    explains: Explains
    confidence: Confidence
    sentence: str
    evidence: tuple[str, ...]
    ask: str


@dataclass(frozen=True, kw_only=True)
class _Signs:
    """For and against water as the cause; None is unknown.

    `record` and `found` tell whether the zone as a whole had the water that brings the symptom
    (too much, or too little), `contrary` and `found_contrary` whether it had the opposite;
    `at_its_spot` whether the symptom stands where that water is.
    """

    record: bool | None
    contrary: bool
    found: bool | None
    found_contrary: bool
    uneven: bool | None
    at_its_spot: bool | None
    everywhere: bool

    @property
    def zone_fits(self) -> bool | None:
        """What was watered weighs more than what a program would water."""
        return self.found if self.record is None else self.record

    @property
    def zone_is_contrary(self) -> bool:
        """Whether the zone had the opposite; what was watered weighs more again."""
        return self.found_contrary if self.record is None else self.contrary

    @property
    def weight(self) -> int:
        """Points of what is known of the zone as a whole: 2 the record, 1 the program."""
        if self.record is None:
            return int(self.found is not None)
        return 2 + (0 if self.found is None else 1 if self.found is self.record else -1)


def judge(
    symptom: SymptomKind,
    record: WaterRecord | None = None,
    found: FoundAgainstNeed | None = None,
    du_lq: float | None = None,
    *,
    spot: Spot | None = None,
    month: int | None = None,
) -> WaterVerdict:
    """Return whether too much, too little or uneven water explains a symptom, or water does not.

    Parameters
    ----------
    symptom : what is seen.
    record : the water of the past weeks; weighs most.
    found : the program as it was found against the need.
    du_lq : low-quarter uniformity of the zone, a fraction.
    spot : where in the zone the symptom stands.
    month : the month of `found` to judge by, 1 to 12; None takes the year.

    Returns
    -------
    the verdict. Without record, program and uniformity it is unknown, wherever the symptom
    stands. Of insects, disease and moss nothing is more than medium sure, nor of wilting that
    too much water may explain.

    References
    ----------
    Common practice: too much water brings disease, too little most often insects; low spots that
    catch runoff get disease first; waterlogged roots wilt too. From memory: some patch diseases
    are worse on dry turf, so that dryness does not speak water free of them.
    """
    signs = _signs(symptom, record, found, du_lq, spot=spot, month=month)
    explains, points = _explanation(symptom, signs)
    confidence = _confidence(symptom, points)
    return WaterVerdict(
        explains=explains,
        confidence=confidence,
        sentence=verdict_sentence(symptom, explains, confidence),
        evidence=_evidence(record, found, signs, spot=spot, month=month),
        ask=ASK[symptom],
    )


def _signs(
    symptom: SymptomKind,
    record: WaterRecord | None,
    found: FoundAgainstNeed | None,
    du_lq: float | None,
    *,
    spot: Spot | None,
    month: int | None,
) -> _Signs:
    is_wet = symptom in _WET_SYMPTOMS
    too_wet, too_dry = (record.was_too_wet, record.was_too_dry) if record else (None, None)
    seen, contrary = (too_wet, too_dry) if is_wet else (too_dry, too_wet)
    supply = Supply.UNKNOWN if found is None else found.verdict_in(month)
    cause = Supply.TOO_MUCH if is_wet else Supply.TOO_LITTLE
    own_spot = Spot.WET if is_wet else Spot.DRY
    return _Signs(
        record=seen,
        contrary=bool(contrary),
        found=None if supply is Supply.UNKNOWN else supply is cause,
        found_contrary=supply not in (cause, Supply.ABOUT_RIGHT, Supply.UNKNOWN),
        uneven=_is_uneven(du_lq),
        at_its_spot=None if spot in (None, Spot.EVERYWHERE) else spot is own_spot,
        everywhere=spot is Spot.EVERYWHERE,
    )


def _is_uneven(du_lq: float | None) -> bool | None:
    if du_lq is None:
        return None
    return FRACTION.number(du_lq, field="du_lq") < UNEVEN_BELOW_DU_LQ


def _explanation(symptom: SymptomKind, signs: _Signs) -> tuple[Explains, int]:
    """Return what explains the symptom, and the points of evidence for it."""
    if signs.zone_fits:
        return _explained_by_zone(symptom, signs)
    if signs.at_its_spot or (signs.uneven and not _is_elsewhere(signs)):
        return _explained_by_spot(signs)
    if symptom is SymptomKind.DROUGHT_STRESS and signs.record is False and signs.contrary:
        return Explains.TOO_MUCH, _points_of_wet_roots(signs)
    if signs.zone_fits is False and (_is_elsewhere(signs) or signs.uneven is False):
        return _not_explained(symptom, signs)
    return Explains.UNKNOWN, 0


def _is_elsewhere(signs: _Signs) -> bool:
    """Whether uneven water cannot be it: the symptom is all over, or where the water is not."""
    return signs.everywhere or signs.at_its_spot is False


def _explained_by_zone(symptom: SymptomKind, signs: _Signs) -> tuple[Explains, int]:
    if signs.at_its_spot is False and signs.uneven:
        return Explains.UNKNOWN, 0  # the zone had that water, but its spot may not have had it
    place = -1 if signs.at_its_spot is False else int(signs.at_its_spot or signs.everywhere)
    wet = symptom in _WET_SYMPTOMS
    return Explains.TOO_MUCH if wet else Explains.TOO_LITTLE, signs.weight + place


def _points_of_wet_roots(signs: _Signs) -> int:
    """Return the points for wet roots, never as many as make it sure: dry roots wilt far oftener.

    Where the place or even cups rule a dry corner out, it is more than a guess.
    """
    no_dry_corner = _is_elsewhere(signs) or signs.uneven is False
    against = signs.found is True
    return MEDIUM_FROM if no_dry_corner and not against else MEDIUM_FROM - 1


def _explained_by_spot(signs: _Signs) -> tuple[Explains, int]:
    if signs.zone_fits is None and not signs.uneven:
        return Explains.UNKNOWN, 0
    measured = 0 if signs.uneven is None else 1 if signs.uneven else -1
    return Explains.UNEVEN, measured + int(signs.zone_fits is False) + int(bool(signs.at_its_spot))


def _not_explained(symptom: SymptomKind, signs: _Signs) -> tuple[Explains, int]:
    if symptom is SymptomKind.PUDDLING:
        return Explains.UNKNOWN, 0  # a puddle is water, only not too much of it over the weeks
    if symptom in _EITHER_WAY and signs.zone_is_contrary:
        return Explains.UNKNOWN, 0
    return Explains.NOT_WATER, signs.weight + int(_is_elsewhere(signs))


def _confidence(symptom: SymptomKind, points: int) -> Confidence:
    if points < MEDIUM_FROM:
        return Confidence.LOW
    if points < HIGH_FROM or symptom not in _WATER_ALONE:
        return Confidence.MEDIUM
    return Confidence.HIGH


def _evidence(
    record: WaterRecord | None,
    found: FoundAgainstNeed | None,
    signs: _Signs,
    *,
    spot: Spot | None,
    month: int | None,
) -> tuple[str, ...]:
    said = [] if record is None else _of_record(record)
    if found is not None and (supply := found.verdict_in(month)) is not Supply.UNKNOWN:
        said.append(f"The program as it was found gives {_AMOUNT[supply]}, rain left out.")
    if signs.uneven is not None:
        said.append("The cups show uneven water." if signs.uneven else "The cups show even water.")
    if spot is not None:
        said.append(_PLACE[spot])
    return tuple(said)


def _of_record(record: WaterRecord) -> list[str]:
    said = []
    if record.supply is not Supply.UNKNOWN:
        said.append(f"Water and rain of the past weeks came to {_AMOUNT[record.supply]}.")
    if record.had_stress:
        said.append("On several days of these weeks the plants were short of water.")
    if record.had_drainage:
        said.append("Much of the water of these weeks drained below the roots.")
    return said
