"""Turns what the technician recorded into the evidence of the zone, by the product's own sums."""

from __future__ import annotations

from audits.domain.catch_test import CatchTest, catch_test
from audits.domain.diagnosis import FaultSeen, NozzleGroup, ZoneEvidence
from audits.domain.hydraulics import nominal_rate_mm_h, nozzle_flow_l_min
from audits.domain.published_uniformity import assumed_du_lq
from audits.domain.water_record import MonthlyNeed
from tests.audits.domain.field_stories import METER_ERROR, Record

MOST_MULTIPLIER = 1.56  # what the company allows


def evidence_of(record: Record) -> ZoneEvidence:
    test = catch_test(record.depths_mm, record.duration_min, record.head_kind)
    rated_l_min = sum(row.count * row.flow_l_min for row in record.rows)
    return ZoneEvidence(
        head_kind=record.head_kind, rate_mm_h=test.rate_mm_h,
        rate_interval_mm_h=test.rate_interval_mm_h, cups=test.cups,
        depths_mm=record.depths_mm, positions_m=record.places_m, du_lq=test.du_lq,
        nominal_rate_mm_h=float(nominal_rate_mm_h(rated_l_min, record.area_m2)),
        metered_flow_l_min=record.metered_flow_l_min, meter_error=METER_ERROR,
        nozzle_flow_l_min=_nozzle_flow(record, rated_l_min),
        caught_share=_caught_share(record, test),
        static_kpa=record.static_kpa, running_kpa=record.running_kpa, rated_kpa=record.rated_kpa,
        groups=tuple(
            NozzleGroup(
                kind=row.kind, count=row.count, flow_l_min=row.flow_l_min,
                rated_kpa=record.rated_kpa, arc_deg=row.arc_deg, throw_m=row.throw_m,
            )
            for row in record.rows
        ),
        spacing_m=record.spacing_m, area_m2=record.area_m2,
        findings=tuple(
            FaultSeen(
                kind=seen.kind, count=seen.count, is_mended=seen.is_mended, severity=seen.severity
            )
            for seen in record.findings
        ),
        exposure=record.exposure,
        weekly_found_mm=tuple(
            None if minutes is None else minutes / 60 * test.rate_mm_h
            for minutes in record.weekly_run_min
        ),
        weekly_needed_mm=_gross_need_mm(record, test), wind_m_s=record.wind_m_s,
        field_du_lq=assumed_du_lq(record.head_kind),
    )  # fmt: skip


def _gross_need_mm(record: Record, test: CatchTest) -> tuple[float | None, ...]:
    multiplier = min(test.run_time_multiplier or 1.0, MOST_MULTIPLIER)
    return MonthlyNeed(record.weekly_needed_mm, "field", multiplier).weekly_gross_mm


def _nozzle_flow(record: Record, rated_l_min: float) -> float | None:
    if record.running_kpa is None:
        return None
    return float(nozzle_flow_l_min(rated_l_min, record.rated_kpa, record.running_kpa))


def _caught_share(record: Record, test: CatchTest) -> float | None:
    if record.metered_flow_l_min is None:
        return None
    return test.rate_mm_h * record.area_m2 / 60 / record.metered_flow_l_min
