"""What likely ails a stored zone."""

from __future__ import annotations

from dataclasses import dataclass

from audits.domain.diagnosis import Cause, ZoneEvidence, diagnose
from audits.domain.water_record import MonthlyNeed
from audits.selectors.evidence import zone_evidence
from properties.models import Zone


@dataclass(frozen=True)
class ZoneDiagnosis:
    """The likely causes, the likeliest first, and what they were judged by."""

    zone: Zone
    evidence: ZoneEvidence
    need: MonthlyNeed | None
    causes: tuple[Cause, ...]


def zone_diagnosis(zone: Zone, need: MonthlyNeed | None = None) -> ZoneDiagnosis:
    """Return the causes of a zone; without a need nothing is said of too much or too little."""
    evidence = zone_evidence(zone, need)
    return ZoneDiagnosis(zone, evidence, need, diagnose(evidence))
