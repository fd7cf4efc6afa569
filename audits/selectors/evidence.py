"""What the rows know of a zone, gathered for the question what ails it.

Nothing unknown is filled in. The flow check, the test and the setting that count are the newest
ones, unless something was mended since that changed what they measured: then they are history. Of
the faults those count that nobody has mended since.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from audits.domain.diagnosis_evidence import COUNT, MONTHS, FaultSeen, NozzleGroup, ZoneEvidence
from audits.domain.faults import FaultKind, Severity
from audits.domain.heads import MAY_COMPENSATE, HeadGroupFacts
from audits.domain.hydraulics import found_nozzle_flow_l_min, nominal_rate_mm_h
from audits.domain.published_uniformity import assumed_du_lq
from audits.domain.ticket_states import TicketState
from audits.domain.water_record import MonthlyNeed
from audits.models import CatchTest, Finding, FlowCheck, Visit, VisitState
from audits.selectors.flow_checks import stated_meter_error
from audits.selectors.found_water import MIN_PER_H, FoundWater, found_water
from audits.selectors.head_facts import facts_of
from audits.selectors.head_rates import expected_rate_mm_h, nominal_rate_of_heads_mm_h
from audits.selectors.mendings import ZoneMendings, zone_mendings
from properties.domain.errors import InvalidInputError, RefusedError
from properties.domain.site import Exposure, HeadKind
from properties.models import HeadGroup, Zone

STARTED_STATES: Final = (VisitState.UNDER_WAY, VisitState.FINISHED)
_WORSE: Final = tuple(Severity)


def zone_evidence(zone: Zone, need: MonthlyNeed | None = None) -> ZoneEvidence:
    """Return what is known of a zone; the weekly need comes from whoever keeps the weather.

    Raises
    ------
    RefusedError
        Where rows contradict each other beyond belief, such as heads of 10 000 L/min on 1 m2.
    """
    try:
        return _evidence(zone, need)
    except InvalidInputError as absurd:
        raise RefusedError(
            absurd.detail, code="unbelievable-zone", field="zone",
            remedy="Check the zone's area, heads, meter readings and program.",
        ) from absurd  # fmt: skip


def _evidence(zone: Zone, need: MonthlyNeed | None) -> ZoneEvidence:
    water = found_water(zone)
    groups = list(zone.head_groups.all())
    seen = _seen_findings(zone)
    mendings = zone_mendings(zone, seen)
    newest = zone.flow_checks.first()
    check = newest if mendings.tells_of_now(newest) else None
    test = water.test if mendings.cups_tell_of_now(water.test) else None
    return ZoneEvidence(
        head_kind=HeadKind(zone.head_kind),
        **_of_test(test),
        **_of_check(zone, check, groups, test),
        meter_error=stated_meter_error(zone.property),
        groups=tuple(_nozzles(group) for group in groups),
        spacing_m=zone.head_spacing_m,
        area_m2=zone.area_m2,
        findings=_faults(_live_findings(seen, mendings, _newest_visit_id(zone))),
        exposure=Exposure(zone.exposure) if zone.exposure else None,
        weekly_found_mm=_found_by_month(water, test),
        weekly_needed_mm=need.weekly_gross_mm if need else (),
        field_du_lq=_published_du_lq(HeadKind(zone.head_kind)),
    )


def _found_by_month(water: FoundWater, test: CatchTest | None) -> tuple[float | None, ...]:
    """Return what the program gave in the months in which it is known to have run.

    A program that is right for July would look like far too much over the whole year.
    """
    weekly_mm = _weekly_found_mm(water, test)
    if weekly_mm is None:
        return ()
    return tuple(weekly_mm if month in water.months else None for month in range(1, MONTHS + 1))


def _weekly_found_mm(water: FoundWater, test: CatchTest | None) -> float | None:
    """Return what the program gives in a week, by the heads where the test is history."""
    if test is water.test or water.weekly_min is None:
        return water.weekly_mm
    rate = expected_rate_mm_h(water.zone)
    return None if rate is None else rate * water.weekly_min / MIN_PER_H


def _of_test(test: CatchTest | None) -> dict[str, Any]:
    if test is None:
        return {}
    readings = list(test.readings.all())
    places = [(cup.x_m, cup.y_m) for cup in readings if cup.x_m is not None]
    return {
        "rate_mm_h": test.rate_mm_h,
        "rate_interval_mm_h": (test.rate_low_mm_h, test.rate_high_mm_h),
        "cups": test.cups,
        "depths_mm": tuple(cup.depth_mm for cup in readings),
        "positions_m": tuple(places) if len(places) == len(readings) else (),
        "du_lq": test.du_lq,
        "wind_m_s": test.wind_m_s,
    }


def _of_check(
    zone: Zone, check: FlowCheck | None, groups: Sequence[HeadGroup], test: CatchTest | None
) -> dict[str, Any]:
    """Return pressures and flows; the heads pass what the pressure found makes them pass.

    Drip and bubblers pass what they are rated at: they may compensate for the pressure.
    """
    running_kpa = check.running_kpa if check else None
    rated = {group.rated_pressure_kpa for group in groups}
    facts = [facts_of(group) for group in groups]
    found_kpa = running_kpa if all(_tells_flow(each) for each in facts) else None
    return {
        "static_kpa": check.static_kpa if check else None,
        "running_kpa": running_kpa,
        "rated_kpa": next(iter(rated)) if len(rated) == 1 else None,
        # Where no pressure was found the catalogue's stands, as the word nominal says.
        "nominal_rate_mm_h": nominal_rate_of_heads_mm_h(groups, zone.area_m2, found_kpa),
        "nozzle_flow_l_min": _nozzle_flow_l_min(facts, found_kpa),
        "metered_flow_l_min": check.flow_l_min if check else None,
        "caught_share": _caught_share(zone, check, test),
    }


def _tells_flow(group: HeadGroupFacts) -> bool:
    """Whether the flow of heads at a pressure is known."""
    return group.rated_kpa is not None or group.kind in MAY_COMPENSATE


def _nozzle_flow_l_min(groups: Sequence[HeadGroupFacts], found_kpa: float | None) -> float | None:
    if not groups or found_kpa is None:
        return None
    return found_nozzle_flow_l_min(groups, found_kpa)


def _caught_share(zone: Zone, check: FlowCheck | None, test: CatchTest | None) -> float | None:
    """Return the measured rate over the rate at which the metered flow would water the area."""
    if test is None or check is None or not check.flow_l_min or zone.area_m2 is None:
        return None
    return test.rate_mm_h / float(nominal_rate_mm_h(check.flow_l_min, zone.area_m2))


def _nozzles(group: HeadGroup) -> NozzleGroup:
    return NozzleGroup(
        kind=HeadKind(group.kind),
        count=_believed(group.count),
        flow_l_min=group.rated_flow_l_min,
        rated_kpa=group.rated_pressure_kpa,
        arc_deg=group.arc_deg,
        throw_m=group.throw_m,
    )


def _believed(count: int) -> int:
    """Cap a count of emitters: it only serves to tell which part of the heads is faulty."""
    return min(count, int(COUNT.high))


def _published_du_lq(kind: HeadKind) -> float | None:
    return None if kind in MAY_COMPENSATE else assumed_du_lq(kind)


def _faults(findings: Sequence[Finding]) -> tuple[FaultSeen, ...]:
    """Return each fault by the newest visit that saw it: its heads, and the worst of them."""
    newest: dict[tuple[str, bool], list[Finding]] = {}
    for finding in findings:
        seen = newest.setdefault((finding.fault, finding.mended_on_the_spot), [])
        if not seen or seen[0].visit_id == finding.visit_id:
            seen.append(finding)
    return tuple(
        FaultSeen(
            kind=FaultKind(fault),
            count=_believed(sum(finding.count for finding in seen)),
            is_mended=is_mended,
            severity=max((Severity(finding.severity) for finding in seen), key=_WORSE.index),
        )
        for (fault, is_mended), seen in sorted(newest.items())
    )


def _seen_findings(zone: Zone) -> list[Finding]:
    """Return from the newest on what was seen, but for what was taken back with its ticket."""
    return list(
        zone.findings.filter(visit__state__in=STARTED_STATES)
        .exclude(ticket__state=TicketState.VOID)
        .order_by("-seen_at", "-id")
    )


def _live_findings(
    seen: Sequence[Finding], mendings: ZoneMendings, newest_visit_id: Any
) -> list[Finding]:
    """Return what was seen and still tells of the zone.

    A finding ends when its fault is mended later, or with the void of its ticket. One that was
    mended on the spot is told of the newest visit alone: of earlier ones it is history.
    """
    mended_at = mendings.last_by_fault()
    return [
        finding
        for finding in seen
        if not (finding.mended_on_the_spot and finding.visit_id != newest_visit_id)
        and not (finding.fault in mended_at and finding.seen_at <= mended_at[finding.fault])
    ]


def _newest_visit_id(zone: Zone) -> Any:
    visits = Visit.objects.filter(property=zone.property_id, state__in=STARTED_STATES)
    return visits.order_by("-started_at", "-id").values_list("pk", flat=True).first()
