"""What a repair is worth: uniformity, run time, water and money; unknown stays unknown."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from audits.domain.diagnosis_evidence import ZoneEvidence
from audits.domain.diagnosis_signs import found_over_needed
from audits.domain.diagnosis_weights import CauseKind
from audits.domain.faults import FaultKind
from audits.domain.published_uniformity import QUALITY_DU_LQ, Quality
from audits.domain.ranges import Range
from audits.domain.uniformity import du_lq, run_time_multiplier
from audits.domain.water_record import MULTIPLIER

LITRES: Final = Range("water of a season", "L", 0.0, 2e10)
MINUTES: Final = Range("minutes of a season", "min", 0.0, 527_040.0)
PRICE_PER_M3: Final = Range("price of water", "per m3", 0.0, 1000.0)
# Common practice: share of the water of a sound zone that reaches the lawn in calm air.
SOUND_CAUGHT_SHARE: Final = 0.90
# Fewer left say nothing of a zone.
_LEAST_CUPS_LEFT: Final = 4

_C = CauseKind
# The faults that put a cause on single heads; those heads' share of the cups is what it explains.
_FAULTS_OF: Final = {
    _C.LEANING_OR_TURNED_HEAD: {FaultKind.LEANING, FaultKind.TURNED, FaultKind.TILTED_BY_RISER},
    _C.SUNKEN_OR_BLOCKED_HEAD: {FaultKind.SUNKEN, FaultKind.BLOCKED_BY_PLANTS},
    _C.CLOGGED_OR_WORN_NOZZLE: {FaultKind.CLOGGED_NOZZLE, FaultKind.WORN_NOZZLE},
    _C.WRONG_NOZZLE: {FaultKind.WRONG_NOZZLE, FaultKind.WRONG_THROW},
}
_WHOLE_ZONE: Final = {_C.MIXED_HEADS, _C.POOR_SPACING, _C.TOO_MANY_HEADS, _C.PRESSURE_TOO_HIGH}
_LOST_ON_THE_WAY: Final = {_C.OVERSPRAY, _C.PRESSURE_TOO_HIGH}
_PROGRAM: Final = {_C.OVERWATERING, _C.UNDERWATERING}
# These repairs leave the flow of the zone as it is, so that minutes go with litres.
_SAME_FLOW: Final = {
    _C.LEANING_OR_TURNED_HEAD, _C.SUNKEN_OR_BLOCKED_HEAD, _C.OVERSPRAY, *_PROGRAM,
}  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class RepairWorth:
    """What changes with a repair; None where the evidence cannot tell. Below 0 costs more."""

    du_lq_now: float | None
    du_lq_after: float | None
    multiplier_now: float | None
    multiplier_after: float | None
    litres_saved_per_year: float | None
    minutes_saved_per_year: float | None
    money_saved_per_year: float | None


def repair_worth(
    kind: CauseKind,
    evidence: ZoneEvidence,
    *,
    season_litres: float | None = None,
    season_minutes: float | None = None,
    price_per_m3: float | None = None,
    multiplier_cap: float | None = None,
) -> RepairWorth:
    """Return what the repair of one cause is worth by itself in a year.

    Parameters
    ----------
    kind : the cause that is mended.
    evidence : what is known of the zone.
    season_litres : what the meter counts for the zone in a season as it is [L], 0 to 2e10 (see
        `metered_litres`).
    season_minutes : how long the zone runs in it [min], 0 to 527 040.
    price_per_m3 : price of water, in the client's money [1/m3], 0 to 1000.
    multiplier_cap : the highest run-time multiplier that the plan allows, 1 to 2.5.

    Notes
    -----
    1. Uniformity after the repair. Single heads: that of the remaining cups once the cups that
       the cause explains are taken away, as many as the heads' share of the zone; the driest
       ones, of a wrong nozzle the wettest. Whole zone (mixed heads, spacing, pressure): the
       published "good" of the head kind. Never under what it is, nor lifted over "excellent".
       A leak, overspray and the program leave the uniformity as it is.
    2. Litres go with the run-time multiplier; of overspray and mist also with the caught share,
       which rises to `SOUND_CAUGHT_SHARE`; of a leak with nozzle flow over metered flow; of the
       program with needed over found.
    3. Minutes go with litres over flow; where the flow after the repair is not known, they are
       None. A leak saves litres only.

    Raises
    ------
    InvalidInputError
        For a number out of its range.

    References
    ----------
    Multiplier 1 / (0.4 + 0.6 DU_lq): see `run_time_multiplier`. The rest is our own model.
    """
    now, after = evidence.du_lq, uniformity_after(kind, evidence)
    cap = _known(MULTIPLIER, multiplier_cap, "multiplier_cap")
    multipliers = _multiplier(now, cap), _multiplier(after, cap)
    kept = _litres_kept(kind, evidence, *multipliers)
    flow = _flow_ratio(kind, evidence)
    minutes_kept = None if kept is None or flow is None else kept / flow
    litres = _saved(_known(LITRES, season_litres, "season_litres"), kept)
    minutes = _saved(_known(MINUTES, season_minutes, "season_minutes"), minutes_kept)
    price = _known(PRICE_PER_M3, price_per_m3, "price_per_m3")
    return RepairWorth(
        du_lq_now=now, du_lq_after=after,
        multiplier_now=multipliers[0], multiplier_after=multipliers[1],
        litres_saved_per_year=litres, minutes_saved_per_year=minutes,
        money_saved_per_year=None if litres is None or price is None else litres / 1000 * price,
    )  # fmt: skip


def metered_litres(
    evidence: ZoneEvidence, *, minutes: float | None, lawn_litres: float | None
) -> float | None:
    """Return what the meter counts for a zone while so much falls on its lawn [L].

    Parameters
    ----------
    evidence : its metered flow counts, or else the share of the metered water that is caught;
        where both are unknown nothing is taken to be lost on the way.
    minutes : how long the zone runs [min]; None is unknown.
    lawn_litres : what falls on its area meanwhile, by the cups or the heads [L]; None is unknown.

    References
    ----------
    Arithmetic: flow x time. What leaks, or falls beside the lawn, went through the meter too.
    """
    if evidence.metered_flow_l_min and minutes is not None:
        return evidence.metered_flow_l_min * minutes
    if lawn_litres is None or not evidence.caught_share:
        return lawn_litres
    return lawn_litres / min(1.0, evidence.caught_share)


def uniformity_after(kind: CauseKind, evidence: ZoneEvidence) -> float | None:
    """Return the DU_lq to expect once the cause is mended; None if it cannot be told."""
    if evidence.du_lq is None:
        return None
    if kind in _FAULTS_OF:
        return _capped(_without_explained_cups(kind, evidence), evidence)
    if kind in _WHOLE_ZONE:
        grades = QUALITY_DU_LQ.get(evidence.head_kind)
        return _capped(grades[Quality.GOOD] if grades else None, evidence)
    return evidence.du_lq


def _capped(expected: float | None, evidence: ZoneEvidence) -> float | None:
    grades = QUALITY_DU_LQ.get(evidence.head_kind)
    now = evidence.du_lq
    if expected is None or grades is None or now is None:
        return None
    return max(now, min(expected, grades[Quality.EXCELLENT]))


def _without_explained_cups(kind: CauseKind, evidence: ZoneEvidence) -> float | None:
    cups, heads = len(evidence.depths_mm), sum(group.count for group in evidence.groups)
    faulty = sum(f.count for f in evidence.findings if f.kind in _FAULTS_OF[kind])
    if not heads or not faulty:
        return None
    explained = max(1, round(min(1.0, faulty / heads) * cups))
    if cups - explained < _LEAST_CUPS_LEFT:
        return None
    driest_first = np.sort(evidence.depths_mm)
    left = driest_first[:-explained] if kind is _C.WRONG_NOZZLE else driest_first[explained:]
    return float(du_lq(left)) if left.any() else None


def _multiplier(uniformity: float | None, cap: float | None) -> float | None:
    if uniformity is None:
        return None
    multiplier = float(run_time_multiplier(uniformity))
    return min(multiplier, cap or multiplier)


def _litres_kept(
    kind: CauseKind, evidence: ZoneEvidence, now: float | None, after: float | None
) -> float | None:
    """Return litres after the repair over litres now."""
    if kind is _C.LEAK:
        sound = _ratio(evidence.nozzle_flow_l_min, evidence.metered_flow_l_min)
        return None if sound is None else min(1.0, sound)
    if kind in _PROGRAM:
        found = found_over_needed(evidence)
        return 1.0 / found if found else None
    evener = 1.0 if kind is _C.OVERSPRAY else _ratio(after, now)
    if kind not in _LOST_ON_THE_WAY:
        return evener
    if evener is None or evidence.caught_share is None:
        return None
    return evener * min(1.0, evidence.caught_share / SOUND_CAUGHT_SHARE)


def _flow_ratio(kind: CauseKind, evidence: ZoneEvidence) -> float | None:
    """Return the flow of the zone after the repair over its flow now."""
    if kind in _SAME_FLOW:
        return 1.0
    if kind is _C.LEAK:
        return _litres_kept(kind, evidence, None, None)
    if kind is _C.PRESSURE_TOO_HIGH:
        pressure = _ratio(evidence.rated_kpa, evidence.running_kpa)
        return math.sqrt(pressure) if pressure else None
    if kind is _C.CLOGGED_OR_WORN_NOZZLE:
        return _ratio(evidence.nozzle_flow_l_min, evidence.metered_flow_l_min)
    return None


def _known(range_: Range, value: float | None, field: str) -> float | None:
    return None if value is None else range_.number(value, field=field)


def _ratio(part: float | None, whole: float | None) -> float | None:
    return part / whole if part is not None and whole else None


def _saved(season: float | None, kept: float | None) -> float | None:
    return None if season is None or kept is None else season * (1.0 - kept)
