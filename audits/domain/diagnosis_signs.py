"""The signs that the evidence of a zone shows: what was compared, with which limit.

A sign is shown only where all that it compares is known; each looks at its own few fields, so
that taking evidence away never adds a sign, save that uneven cups of a windy test count in full
when the wind is not known.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from audits.domain.catch_advice import WIND_LIMIT_M_S
from audits.domain.diagnosis_cups import depth_ratio_of_wettest, dry_cups_closeness
from audits.domain.diagnosis_evidence import USUAL_METER_ERROR, FaultSeen, ZoneEvidence
from audits.domain.diagnosis_heads import (
    kinds_of_heads,
    may_suffer,
    spacing_over_throw,
    unmatched_ratio,
)
from audits.domain.faults import FAULTS, FaultKind, Severity
from audits.domain.published_uniformity import QUALITY_DU_LQ, Quality
from properties.domain.site import Exposure


class SignCode(StrEnum):
    CUPS_UNEVEN = "cups-uneven"
    CUPS_UNEVEN_IN_WIND = "cups-uneven-in-wind"
    CUPS_EVEN = "cups-even"
    DRY_CUPS_TOGETHER = "dry-cups-together"
    ONE_CUP_FAR_WETTER = "one-cup-far-wetter"
    RATE_UNDER_NOMINAL = "rate-under-nominal"
    RATE_OVER_NOMINAL = "rate-over-nominal"
    FLOW_OVER_NOZZLES = "flow-over-nozzles"
    FLOW_UNDER_NOZZLES = "flow-under-nozzles"
    FLOW_AS_NOZZLES = "flow-as-nozzles"
    MUCH_MISSED = "much-missed"
    MOST_CAUGHT = "most-caught"
    SPRAY_MISSED = "spray-missed"
    SPRAY_OVER_NOZZLES = "spray-over-nozzles"
    PRESSURE_OVER_RATED = "pressure-over-rated"
    PRESSURE_UNDER_RATED = "pressure-under-rated"
    PRESSURE_AS_RATED = "pressure-as-rated"
    PRESSURE_DROPS_FAR = "pressure-drops-far"
    KINDS_MIXED = "kinds-mixed"
    RATES_UNMATCHED = "rates-unmatched"
    RATES_MATCHED = "rates-matched"
    SPACING_OVER_THROW = "spacing-over-throw"
    SPACING_WITHIN_THROW = "spacing-within-throw"
    MORE_THAN_NEEDED = "more-than-needed"
    MORE_THAN_SHADE_NEEDS = "more-than-shade-needs"
    LESS_THAN_NEEDED = "less-than-needed"
    AS_MUCH_AS_NEEDED = "as-much-as-needed"


@dataclass(frozen=True)
class Sign:
    """One thing seen or compared; `force` is how plainly it shows, 0 to 1, of faults to 1.5."""

    code: SignCode | FaultKind
    number: float
    limit: float | None
    force: float = 1.0


# Share of the rated pressure. NRCS sprinkler practice (from memory): within a zone at most 20 %
# of the design pressure apart; here the same distance from the rated one.
PRESSURE_SPREAD: Final = 0.20
# Common practice: supply, valve and pipes should take about a third, and no more than two fifths.
PRESSURE_DROP: Final = 0.40
# Common practice: listed flows and a gauge know what nozzles pass to about 4 %, here taken twice;
# a meter that errs more widens it to twice its own error.
FLOW_SPREAD: Final = 0.08
# Common practice: of the metered water some 80 to 95 % reaches the cups of a sound zone.
USUALLY_CAUGHT: Final = 0.91
MUCH_MISSED: Final = 0.76
MOST_CAUGHT: Final = 0.84
ALL_CAUGHT: Final = 0.95
# Caught over what the nozzles pass: cups know the catch to about 6 %, area and nozzles to 4 % (own
# estimate), together 7 %. Both limits lie two of these from what is usually caught.
SPRAY_MISSED: Final = 0.78
SPRAY_OVER: Final = 1.05
RATE_SPREAD: Final = 0.15
# 30 TAC 344.62: spacing within +-10 % of the published radius.
SPACING_LIMIT: Final = 1.10
# Common practice: matched nozzles differ by under three tenths in what they put on their sector.
MATCHED_RATIO: Final = 1.30
# Program, rate and margin are estimates: their ratio is known to about 0.15; this is twice that.
NEED_SPREAD: Final = 0.30
AS_NEEDED: Final = 0.12
# The dry quarter is called together if it lies this much closer than all cups do (own estimate).
CLOSENESS: Final = 0.75
# A cup with twice the median is more than the overlap of even heads gives (own estimate).
FAR_WETTER: Final = 1.8
# Few cups know a uniformity to some 0.1: at two thirds of the limit no doubt is left.
PLAINLY_UNEVEN: Final = 0.35
_HALF_AT_LIMIT: Final = 0.5
_FORCE_AT_LIMIT: Final = 1 / 6
_FULL_FROM: Final = 1.6
_MENDED_FORCE: Final = 0.5
# A fault that its finder calls minor is seldom what ails a zone; one on many heads the rather.
_MINOR_FORCE: Final = 0.85
_MANY_HEADS_FORCE: Final = 0.5


def signs(evidence: ZoneEvidence) -> tuple[Sign, ...]:
    """Return every sign that the evidence shows, each code once."""
    found = (
        *_cups(evidence), *_rate(evidence), *_flow(evidence), *_catch(evidence),
        *_spray(evidence), *_pressure(evidence), *_heads(evidence), *_program(evidence),
        *_findings(evidence),
    )  # fmt: skip
    plainest = {sign.code: sign for sign in sorted(found, key=lambda s: (s.force, s.number))}
    return tuple(plainest[code] for code in sorted(plainest))


def _beyond(excess: float, limit: float) -> float:
    """Return the force of an excess: a sixth at the limit, 1 from 1.6 times the limit on.

    The limits lie near two standard errors of measuring, z = 2. The log likelihood ratio of a
    fault of any size against an error of z grows with z^2 / 2: about 0.6, 1.7 and 3.1 at 2, 2.5
    and 3, where a fault is spread over ten times the error (normal density against a flat one).
    """
    beyond = ((excess / limit) ** 2 - 1.0) / (_FULL_FROM**2 - 1.0)
    return min(1.0, _FORCE_AT_LIMIT + (1.0 - _FORCE_AT_LIMIT) * beyond)


def _factor_beyond(ratio: float, limit: float) -> float:
    """Return the same where what is measured errs by factors, as a product of estimates does."""
    return _beyond(math.log(ratio), math.log(limit)) if ratio else 1.0


def _cups(evidence: ZoneEvidence) -> Iterator[Sign]:
    yield from _uniformity(evidence)
    closeness = dry_cups_closeness(evidence.depths_mm, evidence.positions_m)
    if closeness is not None and closeness < CLOSENESS:
        yield Sign(SignCode.DRY_CUPS_TOGETHER, closeness, CLOSENESS)
    wettest = depth_ratio_of_wettest(evidence.depths_mm)
    if wettest is not None and wettest > FAR_WETTER:
        force = min(1.0, _HALF_AT_LIMIT * (wettest - 1.0) / (FAR_WETTER - 1.0))
        yield Sign(SignCode.ONE_CUP_FAR_WETTER, wettest, FAR_WETTER, force)


def _uniformity(evidence: ZoneEvidence) -> Iterator[Sign]:
    grades = QUALITY_DU_LQ.get(evidence.head_kind)
    uneven = grades[Quality.FAIR] if grades else evidence.field_du_lq
    if evidence.du_lq is None or uneven is None:
        return
    if evidence.du_lq < uneven:
        is_windy = (evidence.wind_m_s or 0.0) > WIND_LIMIT_M_S
        code = SignCode.CUPS_UNEVEN_IN_WIND if is_windy else SignCode.CUPS_UNEVEN
        short = 1.0 - evidence.du_lq / uneven
        force = min(1.0, _HALF_AT_LIMIT * (1.0 + short / PLAINLY_UNEVEN))
        yield Sign(code, evidence.du_lq, uneven, force)
    elif grades and evidence.du_lq >= grades[Quality.GOOD]:
        good, best = grades[Quality.GOOD], grades[Quality.EXCELLENT]
        force = min(1.0, _HALF_AT_LIMIT * (1.0 + (evidence.du_lq - good) / (best - good)))
        yield Sign(SignCode.CUPS_EVEN, evidence.du_lq, good, force)


def _rate(evidence: ZoneEvidence) -> Iterator[Sign]:
    nominal, interval = evidence.nominal_rate_mm_h, evidence.rate_interval_mm_h
    if not nominal or interval is None:
        return
    low, high = 1.0 - RATE_SPREAD, 1.0 + RATE_SPREAD
    if interval[1] / nominal < low:
        yield Sign(SignCode.RATE_UNDER_NOMINAL, interval[1] / nominal, low)
    elif interval[0] / nominal > high:
        yield Sign(SignCode.RATE_OVER_NOMINAL, interval[0] / nominal, high)


def _flow(evidence: ZoneEvidence) -> Iterator[Sign]:
    metered, nozzles = evidence.metered_flow_l_min, evidence.nozzle_flow_l_min
    if metered is None or not nozzles:
        return
    error = USUAL_METER_ERROR if evidence.meter_error is None else evidence.meter_error
    limit = max(FLOW_SPREAD, 2.0 * error)
    ratio = metered / nozzles
    if ratio - 1.0 > limit:
        yield Sign(SignCode.FLOW_OVER_NOZZLES, ratio, 1.0 + limit, _beyond(ratio - 1.0, limit))
    elif 1.0 - ratio > limit:
        yield Sign(SignCode.FLOW_UNDER_NOZZLES, ratio, 1.0 - limit, _beyond(1.0 - ratio, limit))
    else:
        # The closer, the plainer: near the limit it says little.
        yield Sign(SignCode.FLOW_AS_NOZZLES, ratio, 1.0 + limit, 1.0 - abs(ratio - 1.0) / limit)


def _catch(evidence: ZoneEvidence) -> Iterator[Sign]:
    share = evidence.caught_share
    if share is None:
        return
    if share < MUCH_MISSED:
        force = _beyond(USUALLY_CAUGHT - share, USUALLY_CAUGHT - MUCH_MISSED)
        yield Sign(SignCode.MUCH_MISSED, share, MUCH_MISSED, force)
    elif share >= MOST_CAUGHT:
        plain = (share - MOST_CAUGHT) / (ALL_CAUGHT - MOST_CAUGHT)
        force = min(1.0, _HALF_AT_LIMIT * (1.0 + plain))
        yield Sign(SignCode.MOST_CAUGHT, share, MOST_CAUGHT, force)


def _spray(evidence: ZoneEvidence) -> Iterator[Sign]:
    """Hold the catch against what the nozzles threw, which no leak before them can touch."""
    metered, nozzles = evidence.metered_flow_l_min, evidence.nozzle_flow_l_min
    if evidence.caught_share is None or metered is None or not nozzles:
        return
    of_spray = evidence.caught_share * metered / nozzles
    if of_spray < SPRAY_MISSED:
        force = _beyond(USUALLY_CAUGHT - of_spray, USUALLY_CAUGHT - SPRAY_MISSED)
        yield Sign(SignCode.SPRAY_MISSED, of_spray, SPRAY_MISSED, force)
    elif of_spray > SPRAY_OVER:
        force = _beyond(of_spray - USUALLY_CAUGHT, SPRAY_OVER - USUALLY_CAUGHT)
        yield Sign(SignCode.SPRAY_OVER_NOZZLES, of_spray, SPRAY_OVER, force)


def _pressure(evidence: ZoneEvidence) -> Iterator[Sign]:
    running, static = evidence.running_kpa, evidence.static_kpa
    if running is None:
        return
    if evidence.rated_kpa is not None:
        sign = _against_rated(running, evidence.rated_kpa)
        if sign.code is not SignCode.PRESSURE_OVER_RATED or may_suffer(evidence):
            yield sign
    if static and 1.0 - running / static > PRESSURE_DROP:
        yield Sign(SignCode.PRESSURE_DROPS_FAR, 1.0 - running / static, PRESSURE_DROP)


def _against_rated(running_kpa: float, rated_kpa: float) -> Sign:
    high, low = rated_kpa * (1.0 + PRESSURE_SPREAD), rated_kpa * (1.0 - PRESSURE_SPREAD)
    force = _beyond(abs(running_kpa / rated_kpa - 1.0), PRESSURE_SPREAD)
    if running_kpa > high:
        return Sign(SignCode.PRESSURE_OVER_RATED, running_kpa, high, force)
    if running_kpa < low:
        return Sign(SignCode.PRESSURE_UNDER_RATED, running_kpa, low, force)
    return Sign(SignCode.PRESSURE_AS_RATED, running_kpa, high)


def _heads(evidence: ZoneEvidence) -> Iterator[Sign]:
    kinds = kinds_of_heads(evidence.groups)
    if kinds > 1:
        yield Sign(SignCode.KINDS_MIXED, kinds, 1)
    unmatched = unmatched_ratio(evidence.groups)
    if unmatched is not None:
        is_matched = unmatched <= MATCHED_RATIO
        code = SignCode.RATES_MATCHED if is_matched else SignCode.RATES_UNMATCHED
        yield Sign(code, unmatched, MATCHED_RATIO)
    spacing = spacing_over_throw(evidence.spacing_m, evidence.groups)
    if spacing is not None:
        is_within = spacing <= SPACING_LIMIT
        code = SignCode.SPACING_WITHIN_THROW if is_within else SignCode.SPACING_OVER_THROW
        yield Sign(code, spacing, SPACING_LIMIT)


def found_over_needed(evidence: ZoneEvidence) -> float | None:
    """Return the water of the months in which both found and need are known, as a ratio."""
    pairs = [
        (found, needed)
        for found, needed in zip(evidence.weekly_found_mm, evidence.weekly_needed_mm, strict=False)
        if found is not None and needed is not None
    ]
    needed_mm = sum(needed for _, needed in pairs)
    return sum(found for found, _ in pairs) / needed_mm if needed_mm else None


def _program(evidence: ZoneEvidence) -> Iterator[Sign]:
    ratio = found_over_needed(evidence)
    if ratio is None:
        return
    if ratio > 1.0 + NEED_SPREAD:
        is_shaded = evidence.exposure in {Exposure.PART_SHADE, Exposure.FULL_SHADE}
        code = SignCode.MORE_THAN_SHADE_NEEDS if is_shaded else SignCode.MORE_THAN_NEEDED
        yield Sign(code, ratio, 1.0 + NEED_SPREAD, _factor_beyond(ratio, 1.0 + NEED_SPREAD))
    elif ratio < 1.0 - NEED_SPREAD:
        limit = 1.0 - NEED_SPREAD
        yield Sign(SignCode.LESS_THAN_NEEDED, ratio, limit, _factor_beyond(ratio, limit))
    elif abs(ratio - 1.0) <= AS_NEEDED:
        force = 1.0 - abs(ratio - 1.0) / AS_NEEDED
        yield Sign(SignCode.AS_MUCH_AS_NEEDED, ratio, 1.0 + AS_NEEDED, force)


def _findings(evidence: ZoneEvidence) -> Iterator[Sign]:
    spots = {
        FaultKind.RUNOFF: evidence.has_runoff,
        FaultKind.WET_SPOT: evidence.has_wet_spots,
        FaultKind.DRY_SPOT: evidence.has_dry_spots,
    }
    yield from (Sign(kind, 1, None) for kind, is_seen in spots.items() if is_seen)
    for fault in evidence.findings:
        yield Sign(fault.kind, fault.count, None, _fault_force(fault))


def _fault_force(fault: FaultSeen) -> float:
    heads = fault.count if FAULTS[fault.kind].on_head else 1
    force = 1.0 + _MANY_HEADS_FORCE * (1.0 - 1.0 / heads)
    if fault.severity is Severity.MINOR:
        force *= _MINOR_FORCE
    return force * _MENDED_FORCE if fault.is_mended else force
