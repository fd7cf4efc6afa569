"""What was measured before a repair is history, and no evidence for what ails the zone now."""

from __future__ import annotations

import datetime as dt

import pytest

from audits.models import Finding
from audits.selectors.evidence import zone_evidence
from tests import cast
from tests.audits import field_rows

DAY = dt.timedelta(days=1)
BEFORE, AFTER = cast.NOW - 2 * DAY, cast.NOW - DAY / 2
MENDED = cast.NOW - DAY


@pytest.fixture
def measured(visit, zone):
    """A zone with heads, a test of 40 mm/h and a check of 80 L/min, both of that moment."""
    cast.make_heads(zone, rated_pressure_kpa=200.0)

    def at(taken_at):
        cast.make_catch_test(visit, zone, taken_at=taken_at)
        field_rows.make_flow_check(visit, zone, taken_at=taken_at)

    return at


def mend(visit, zone, fault, *, state="mended"):
    return cast.make_ticket(
        visit.property, zone=zone, fault=fault, state=state, visit=visit, mended_at=MENDED,
        mended_by=visit.technician,
    )  # fmt: skip


def known(zone):
    evidence = zone_evidence(zone)
    cups = (evidence.rate_mm_h, evidence.du_lq, evidence.cups)
    flow = (evidence.metered_flow_l_min, evidence.running_kpa, evidence.nozzle_flow_l_min)
    assert len({value is None for value in cups}) == len({value is None for value in flow}) == 1
    return cups[0] is not None, flow[0] is not None


# Common practice: a straightened head moves water, a new nozzle lets out other water.
@pytest.mark.parametrize("state", ["mended", "proven"])
@pytest.mark.parametrize(
    ("fault", "counts"),
    [
        ("leaning", (False, True)), ("clogged_nozzle", (False, False)), ("wiring", (True, True)),
    ],
)  # fmt: skip
def test_a_mended_ticket_makes_history_of_what_it_changed(
    measured, visit, zone, fault, counts, state
):
    measured(BEFORE)
    assert known(zone) == (True, True)

    mend(visit, zone, fault, state=state)

    assert known(zone) == counts
    measured(AFTER)
    assert known(zone) == (True, True)


@pytest.mark.parametrize("state", ["open", "agreed", "booked", "declined", "void"])
def test_a_ticket_that_nobody_mended_changes_nothing(measured, visit, zone, state):
    measured(BEFORE)

    cast.make_ticket(visit.property, zone=zone, fault="broken", state=state, visit=visit)

    assert known(zone) == (True, True)


def test_a_repair_of_the_whole_property_counts_and_one_of_another_zone_does_not(
    measured, visit, zone, controller
):
    measured(BEFORE)
    mend(visit, cast.make_zone(controller, number=2), "broken")
    assert known(zone) == (True, True)

    mend(visit, None, "weak_pressure")

    assert known(zone) == (False, False)


def test_what_was_mended_on_the_spot_later_makes_history_too(
    measured, garden, technician, visit, zone
):
    measured(BEFORE)
    later = cast.make_visit_under_way(garden, technician)

    Finding.objects.create(
        visit=later, zone=zone, fault="broken", severity="major", mended_on_the_spot=True,
        seen_at=MENDED, **cast.ROW,
    )  # fmt: skip

    assert known(zone) == (False, False)


def test_of_the_visit_of_a_test_its_own_word_counts(measured, visit, zone):
    """The finding may be written down after the test that followed its repair."""
    measured(BEFORE)

    Finding.objects.create(
        visit=visit, zone=zone, fault="broken", severity="major", mended_on_the_spot=True,
        seen_at=MENDED, **cast.ROW,
    )  # fmt: skip

    assert known(zone) == (True, False)


def test_a_fault_that_was_only_seen_makes_no_history(measured, visit, zone):
    measured(BEFORE)

    Finding.objects.create(
        visit=visit, zone=zone, fault="broken", severity="major", seen_at=MENDED, **cast.ROW
    )

    assert known(zone) == (True, True)


# Arithmetic: 2 days x 15 min at 40 mm/h are 20 mm; by the heads (70 L/min on 200 m2, 21 mm/h) 10.5.
def test_the_weekly_depth_is_then_that_of_the_heads(measured, visit, zone):
    measured(BEFORE)
    setting = zone.controller.settings.create(source="found", since=cast.TODAY, **cast.ROW)
    program = setting.programs.create(name="A", weekdays=[0, 3], starts=["05:00"])
    program.runs.create(zone=zone, run_min=15)
    june = cast.TODAY.month - 1
    assert zone_evidence(zone).weekly_found_mm[june] == pytest.approx(20.0)

    mend(visit, zone, "leaning")

    assert zone_evidence(zone).weekly_found_mm[june] == pytest.approx(10.5)


# Arithmetic: 2 L/h on 0.3 x 0.5 m are 13.333 mm/h, whatever the area or the check says.
def test_the_nominal_rate_of_drip_is_that_of_its_grid(visit, controller):
    zone = cast.make_zone(controller, head_kind="drip", area_m2=500.0)
    cast.make_heads(
        zone, count=100, rated_flow_l_min=2 / 60, rated_pressure_kpa=100.0, emitter_spacing_m=0.3,
        lateral_spacing_m=0.5,
    )  # fmt: skip
    field_rows.make_flow_check(visit, zone)
    field_rows.make_emitter_check(visit, zone)

    assert zone_evidence(zone).nominal_rate_mm_h == pytest.approx(2 / 0.15)


@pytest.mark.parametrize(("percent", "fraction"), [(None, None), (2.0, 0.02), (0.0, 0.0)])
def test_the_error_of_the_meter_is_the_propertys(zone, percent, fraction):
    zone.property.meter_error_percent = percent

    assert zone_evidence(zone).meter_error == fraction
