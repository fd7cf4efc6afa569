"""What likely ails a zone, ranked, each cause with the evidence for it and its repair."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from audits.domain.diagnosis_evidence import FaultSeen, NozzleGroup, ZoneEvidence
from audits.domain.diagnosis_sentences import REPAIRS, SIGN_QUANTITIES, Repair, sentence_of
from audits.domain.diagnosis_signs import Sign, SignCode, signs
from audits.domain.diagnosis_weights import PRIOR, WEIGHTS, CauseKind
from audits.domain.faults import FaultKind

__all__ = [
    "LISTED_FROM", "Cause", "CauseKind", "Evidence", "FaultSeen", "NozzleGroup", "Repair",
    "ZoneEvidence", "diagnose", "suspicions",
]  # fmt: skip

# A cause is listed when it is at least as likely as not.
LISTED_FROM: Final = 0.5


@dataclass(frozen=True)
class Evidence:
    """One sign: what was found, with the limit it passed where there is one.

    `quantity` is the dimension of number and limit: "pressure" [kPa], "count" [heads] or "ratio".
    """

    code: str
    sentence: str
    number: float
    limit: float | None
    quantity: str
    weight: float


@dataclass(frozen=True)
class Cause:
    """One likely cause; `against` holds the signs that speak the other way."""

    kind: CauseKind
    strength: float
    evidence: tuple[Evidence, ...]
    against: tuple[Evidence, ...]
    repair: Repair


def diagnose(evidence: ZoneEvidence) -> tuple[Cause, ...]:
    """Return the likely causes of what ails a zone, the likeliest first; empty if all is well.

    Parameters
    ----------
    evidence : what is known of the zone; nothing unknown is assumed.

    Notes
    -----
    1. The evidence is turned into signs: a comparison beyond its limit, or a fault seen.
    2. Each sign adds its weight to each cause it bears on (`WEIGHTS`, log likelihood ratios),
       times its force. What is measured counts little at its limit, which lies two errors of
       measuring from the usual, and grows with the square from there; a fault counts half if it
       was mended on the spot, less if its finder calls it minor, more on several heads.
    3. The sum, from the same prior for all, is the log-odds of the cause; strength is its
       probability, as if signs were independent. They are not: read it as a rank.
    4. Listed is what has a sign on its side and a strength of `LISTED_FROM` or more.

    References
    ----------
    Naive Bayes scoring by log likelihood ratios; Good 1950, "Probability and the Weighing of
    Evidence" (from memory). The weights are our own estimates.
    """
    return tuple(cause for cause in suspicions(evidence) if cause.strength >= LISTED_FROM)


def suspicions(evidence: ZoneEvidence) -> tuple[Cause, ...]:
    """Return every cause with any sign on its side, likely or not, the likeliest first.

    A refuted cause stands here with a low strength. Taking evidence away never adds to these; it
    may lift one over the limit of `diagnose` when what it takes away spoke against that cause.
    """
    shown = signs(evidence)
    causes = (_cause(kind, shown) for kind in CauseKind)
    supported = [cause for cause in causes if cause.evidence]
    return tuple(sorted(supported, key=lambda cause: -cause.strength))


def _cause(kind: CauseKind, shown: tuple[Sign, ...]) -> Cause:
    weights = WEIGHTS[kind]
    bearing = [_evidence(sign, weights[sign.code]) for sign in shown if sign.code in weights]
    bearing.sort(key=lambda item: -abs(item.weight))
    log_odds = PRIOR + sum(item.weight for item in bearing)
    return Cause(
        kind=kind,
        strength=1.0 / (1.0 + math.exp(-log_odds)),
        evidence=tuple(item for item in bearing if item.weight > 0),
        against=tuple(item for item in bearing if item.weight < 0),
        repair=REPAIRS[kind],
    )


def _evidence(sign: Sign, weight: float) -> Evidence:
    return Evidence(
        code=str(sign.code),
        sentence=sentence_of(sign.code),
        number=sign.number,
        limit=sign.limit,
        quantity=_quantity(sign),
        weight=weight * sign.force,
    )


def _quantity(sign: Sign) -> str:
    if isinstance(sign.code, FaultKind) or sign.code is SignCode.KINDS_MIXED:
        return "count"
    return SIGN_QUANTITIES.get(sign.code, "ratio")
