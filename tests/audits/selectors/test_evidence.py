"""What the rows know of a zone, as the diagnosis sees it."""

from __future__ import annotations

import datetime as dt

import pytest

from audits.domain.diagnosis_evidence import FaultSeen
from audits.domain.faults import FaultKind, Severity
from audits.domain.water_record import MonthlyNeed
from audits.models import (
    CupReading,
    Finding,
    FlowCheck,
    ProgramSetting,
    RepairTicket,
    VisitState,
)
from audits.selectors.evidence import zone_evidence
from properties.domain.errors import RefusedError
from properties.domain.site import Exposure, HeadKind
from tests import cast

DAY = dt.timedelta(days=1)


def make_check(visit, zone, **changes):
    values = {"taken_at": cast.NOW, "static_kpa": 450.0, "running_kpa": 400.0, **cast.ROW}
    return FlowCheck.objects.create(visit=visit, zone=zone, **{**values, **changes})


def metered(visit, zone, flow_l_min, **changes):
    return make_check(
        visit, zone, meter_before_l=1000.0, meter_after_l=1000.0 + 2 * flow_l_min, run_min=2.0,
        flow_l_min=flow_l_min, **changes,
    )  # fmt: skip


def find(visit, zone, fault="leaning", **changes):
    values = {"severity": "minor", "seen_at": cast.NOW, **cast.ROW}
    return Finding.objects.create(visit=visit, zone=zone, fault=fault, **{**values, **changes})


def mend(zone, fault, at, state="mended"):
    technician = zone.property.visits.first().technician
    return RepairTicket.objects.create(
        property=zone.property, zone=zone, fault=fault, state=state, work="Mend.", mended_at=at,
        mended_by=technician, agreed_by="Ingrid Holm", agreed_at=at, **cast.ROW,
    )  # fmt: skip


def set_program(zone, run_min):
    setting = zone.controller.settings.create(source="found", since=cast.TODAY, **cast.ROW)
    program = setting.programs.create(name="A", weekdays=[0, 3], starts=["05:00"])
    program.runs.create(zone=zone, run_min=run_min)


def seen_as(kind, severity=Severity.MINOR, **facts):
    return FaultSeen(kind=kind, severity=severity, **facts)


def faults_of(zone):
    return set(zone_evidence(zone).findings)


def test_of_a_bare_zone_nothing_is_known_but_what_it_is(zone):
    evidence = zone_evidence(zone)

    assert (evidence.head_kind, evidence.exposure) == (HeadKind.SPRAY, Exposure.FULL_SUN)
    assert (evidence.area_m2, evidence.field_du_lq) == (200.0, 0.41)
    unknown = (
        "rate_mm_h", "rate_interval_mm_h", "cups", "du_lq", "nominal_rate_mm_h", "wind_m_s",
        "metered_flow_l_min", "nozzle_flow_l_min", "caught_share", "static_kpa", "running_kpa",
        "rated_kpa", "spacing_m",
    )  # fmt: skip
    assert {getattr(evidence, name) for name in unknown} == {None}
    empty = ("depths_mm", "positions_m", "groups", "findings", "weekly_found_mm",
             "weekly_needed_mm")  # fmt: skip
    assert {getattr(evidence, name) for name in empty} == {()}


def test_the_ruling_test_is_told_with_its_cups_and_their_places(visit, zone):
    cast.make_catch_test(visit, zone, taken_at=cast.NOW - DAY, rate_mm_h=38.0)
    test = cast.make_catch_test(visit, zone, wind_m_s=2.0)
    for reading in CupReading.objects.filter(test=test):
        reading.x_m, reading.y_m = reading.number, 2 * reading.number
        reading.save()

    evidence = zone_evidence(zone)

    assert (evidence.rate_mm_h, evidence.rate_interval_mm_h) == (40.0, (34.0, 46.0))
    assert (evidence.cups, evidence.du_lq, evidence.wind_m_s) == (12, 0.75, 2.0)
    assert evidence.depths_mm == (5.0,) * 3 + (7.2,) * 9
    assert evidence.positions_m == tuple((n, 2 * n) for n in range(1, 13))


def test_places_of_some_cups_only_are_no_pattern(visit, zone):
    test = cast.make_catch_test(visit, zone)
    CupReading.objects.filter(test=test, number=1).update(x_m=1, y_m=1)

    assert zone_evidence(zone).positions_m == ()


# Orifice law by hand: at 400 kPa a nozzle rated at 100 kPa passes twice its flow, so 10 heads of
# 7 L/min pass 140 L/min, on 200 m2 42 mm/h; 160 L/min metered would be 48 mm/h, of which the
# cups caught 40: 5/6.
def test_flows_and_rates_are_those_at_the_pressure_that_the_newest_check_found(visit, zone):
    cast.make_heads(zone, rated_pressure_kpa=100.0, arc_deg=180, throw_m=4.5)
    cast.make_catch_test(visit, zone)
    metered(visit, zone, 90.0, taken_at=cast.NOW - DAY, running_kpa=100.0)
    metered(visit, zone, 160.0)

    evidence = zone_evidence(zone)

    assert evidence.nozzle_flow_l_min == pytest.approx(140.0)
    assert evidence.nominal_rate_mm_h == pytest.approx(42.0)
    assert evidence.metered_flow_l_min == 160.0
    assert evidence.caught_share == pytest.approx(5 / 6)
    pressures = (evidence.static_kpa, evidence.running_kpa, evidence.rated_kpa)
    assert pressures == (450.0, 400.0, 100.0)
    (group,) = evidence.groups
    assert (group.count, group.flow_l_min, group.arc_deg, group.throw_m) == (10, 7.0, 180, 4.5)


@pytest.mark.parametrize("lack", ["check", "running pressure", "a rated pressure"])
def test_without_the_pressure_the_nominal_rate_is_the_catalogues_and_no_flow_is_known(
    visit, zone, lack
):
    cast.make_heads(zone, rated_pressure_kpa=None if lack == "a rated pressure" else 100.0)
    if lack != "check":
        make_check(visit, zone, running_kpa=None if lack == "running pressure" else 400.0)

    evidence = zone_evidence(zone)

    # Arithmetic: 10 x 7 L/min on 200 m2 are 21 mm/h.
    assert evidence.nominal_rate_mm_h == pytest.approx(21.0)
    assert evidence.nozzle_flow_l_min is None


# Keller and Karmeli 1974 (from memory): q = k P^x, x = 0 for emitters that compensate. By the
# square root, 100 emitters of 2 L/h rated at 100 kPa would pass half of that at 25 kPa, and the
# meter tell of a leak.
@pytest.mark.parametrize("kind", ["drip", "bubbler"])
@pytest.mark.parametrize("rated_kpa", [100.0, None])
def test_what_may_compensate_is_held_against_its_rated_flow(visit, controller, kind, rated_kpa):
    zone = cast.make_zone(controller, head_kind=kind, area_m2=50.0)
    cast.make_heads(
        zone, kind=kind, count=100, rated_flow_l_min=2 / 60, rated_pressure_kpa=rated_kpa
    )
    metered(visit, zone, 200 / 60, running_kpa=25.0)

    evidence = zone_evidence(zone)

    assert evidence.nozzle_flow_l_min == pytest.approx(200 / 60)
    assert evidence.nominal_rate_mm_h == pytest.approx(4.0)


def test_heads_of_different_rated_pressure_have_no_common_one(visit, zone):
    cast.make_heads(zone, rated_pressure_kpa=100.0)
    cast.make_heads(zone, rated_pressure_kpa=200.0)

    assert zone_evidence(zone).rated_kpa is None


# Arithmetic: 2 days x 15 min at 40 mm/h are 20 mm a week.
def test_the_weekly_depth_is_minutes_times_rate_and_the_need_is_lent(visit, zone):
    cast.make_catch_test(visit, zone)
    set_program(zone, 15)
    need = MonthlyNeed(tuple(range(12)), "a table", multiplier=1.25)

    evidence = zone_evidence(zone, need)

    # It was set and found in June; of other months nobody knows.
    assert evidence.weekly_found_mm[5] == pytest.approx(20.0)
    assert {*evidence.weekly_found_mm[:5], *evidence.weekly_found_mm[6:]} == {None}
    assert evidence.weekly_needed_mm == tuple(1.25 * depth_mm for depth_mm in range(12))
    assert zone_evidence(zone).weekly_needed_mm == ()


def test_a_program_without_a_rate_is_an_unknown_depth(zone):
    set_program(zone, 15)

    assert zone_evidence(zone).weekly_found_mm == ()


def test_a_setting_that_stood_for_months_tells_of_each_of_them(visit, zone):
    cast.make_catch_test(visit, zone)
    set_program(zone, 15)
    ProgramSetting.objects.update(since=cast.TODAY - 61 * DAY)

    known = [month for month, mm in enumerate(zone_evidence(zone).weekly_found_mm, 1) if mm]

    assert known == [4, 5, 6]


def test_findings_of_a_kind_are_one_fault_on_all_its_heads(visit, zone, controller):
    find(visit, zone, count=2)
    find(visit, zone, count=1, severity="major")
    find(visit, zone, "sunken", mended_on_the_spot=True)
    find(visit, cast.make_zone(controller, number=2), "broken")
    find(visit, None, "wiring")

    assert faults_of(zone) == {
        seen_as(FaultKind.LEANING, count=3, severity=Severity.MAJOR),
        seen_as(FaultKind.SUNKEN, count=1, is_mended=True),
    }


def test_the_newest_visit_that_saw_a_fault_counts_its_heads(garden, technician, visit, zone):
    find(visit, zone, count=2, seen_at=cast.NOW - 9 * DAY)
    later = cast.make_visit_under_way(garden, technician)
    find(later, zone, count=5)

    assert faults_of(zone) == {seen_as(FaultKind.LEANING, count=5)}


@pytest.mark.parametrize("state", ["mended", "proven"])
def test_a_fault_that_was_mended_since_is_gone_and_one_seen_again_is_back(visit, zone, state):
    find(visit, zone, seen_at=cast.NOW - 9 * DAY)
    find(visit, zone, "sunken", seen_at=cast.NOW - 9 * DAY)
    mend(zone, "leaning", cast.NOW - 5 * DAY, state)

    assert faults_of(zone) == {seen_as(FaultKind.SUNKEN)}
    find(visit, zone, seen_at=cast.NOW)
    assert seen_as(FaultKind.LEANING) in faults_of(zone)


@pytest.mark.parametrize(("state", "is_told"), [("void", False), ("declined", True)])
def test_a_void_ticket_takes_its_finding_back_and_a_declined_one_does_not(
    visit, zone, state, is_told
):
    ticket = RepairTicket.objects.create(
        property=zone.property, zone=zone, fault="leaning", state=state, work="x",
        closing_word="No.", **cast.ROW,
    )  # fmt: skip
    find(visit, zone, ticket=ticket)

    assert bool(faults_of(zone)) is is_told


def test_what_was_mended_on_the_spot_of_an_earlier_visit_is_history(
    garden, technician, visit, zone
):
    find(visit, zone, mended_on_the_spot=True)
    cast.make_visit(
        garden, technician, state=VisitState.UNDER_WAY, started_at=cast.NOW + DAY
    )  # fmt: skip

    assert faults_of(zone) == set()


def test_thousands_of_emitters_do_not_stop_a_diagnosis(visit, controller):
    zone = cast.make_zone(controller, head_kind="drip")
    cast.make_heads(zone, count=2000, rated_flow_l_min=0.04)
    find(visit, zone, "clogged_nozzle", count=1500)

    evidence = zone_evidence(zone)

    assert (evidence.groups[0].count, evidence.findings[0].count) == (1000, 1000)
    assert evidence.field_du_lq is None


def test_rows_beyond_belief_are_refused_with_the_cure(controller):
    zone = cast.make_zone(controller, area_m2=0.1)
    cast.make_heads(zone, count=100)

    with pytest.raises(RefusedError, match="believable") as refusal:
        zone_evidence(zone)

    assert refusal.value.field == "zone"
    assert "area" in refusal.value.remedy


def test_evidence_takes_as_many_queries_for_ten_rows_as_for_one(
    visit, zone, django_assert_num_queries
):
    def grow():
        set_program(zone, 15)
        cast.make_heads(zone, rated_pressure_kpa=200.0)
        cast.make_catch_test(visit, zone)
        make_check(visit, zone)
        find(visit, zone)

    grow()
    # heads, test, its cups, setting, programs, runs, check, mended, newest visit, findings
    with django_assert_num_queries(10):
        zone_evidence(zone)
    for _ in range(9):
        grow()

    with django_assert_num_queries(10):
        assert zone_evidence(zone).findings[0].count == 10
