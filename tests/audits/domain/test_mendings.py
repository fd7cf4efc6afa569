"""What a repair makes history."""

from __future__ import annotations

import datetime as dt

import pytest

from audits.domain.faults import FAULTS, FaultKind
from audits.domain.mendings import (
    CHANGES_FLOW,
    LEAVES_CUPS_ALONE,
    Mending,
    cups_are_history,
    flow_is_history,
)

MOMENT = dt.datetime(2026, 6, 10, 12, 0, tzinfo=dt.UTC)
SECOND = dt.timedelta(seconds=1)


# Common practice, fault by fault: (changes what cups catch, changes flow and pressure).
@pytest.mark.parametrize(
    ("fault", "cups", "flow"),
    [
        ("leaning", True, False), ("sunken", True, False), ("wrong_arc", True, False),
        ("clogged_nozzle", True, True), ("broken", True, True), ("weak_pressure", True, True),
        ("valve_does_not_open", True, True), ("wiring", False, False),
        ("no_working_rain_sensor", False, False), ("runoff", False, False),
    ],
)  # fmt: skip
def test_each_fault_makes_history_of_what_it_changes(fault, cups, flow):
    mended = [Mending(FaultKind(fault), MOMENT)]

    assert cups_are_history(MOMENT - SECOND, mended) is cups
    assert flow_is_history(MOMENT - SECOND, mended) is flow


def test_what_was_measured_at_or_after_the_repair_is_no_history():
    mended = [Mending(FaultKind.BROKEN, MOMENT)]

    for taken_at in (MOMENT, MOMENT + SECOND):
        assert not cups_are_history(taken_at, mended)
        assert not flow_is_history(taken_at, mended)
    assert not cups_are_history(MOMENT, [])


def test_what_leaves_the_cups_alone_leaves_the_flow_alone():
    assert not LEAVES_CUPS_ALONE & CHANGES_FLOW
    assert set(FAULTS) >= LEAVES_CUPS_ALONE | CHANGES_FLOW
