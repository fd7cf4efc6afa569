"""What the database itself holds true of the audits."""

from __future__ import annotations

import pytest
from django.db import IntegrityError, transaction

from audits.models import (
    CatchTest,
    CupReading,
    Finding,
    ProgramSetting,
    RepairTicket,
    SettingProgram,
    SettingRun,
    Visit,
)
from tests import cast


@pytest.fixture
def rows(visit, zone, controller):
    ticket = RepairTicket.objects.create(
        property=visit.property, zone=zone, fault="leaning", work="-", **cast.ROW
    )
    setting = ProgramSetting.objects.create(
        controller=controller, source="found", since=cast.TODAY, **cast.ROW
    )
    program = SettingProgram.objects.create(setting=setting, name="A", weekdays=[0], starts=[])
    SettingRun.objects.create(program=program, zone=zone, run_min=5)
    Finding.objects.create(
        visit=visit, zone=zone, fault="leaning", severity="minor", seen_at=cast.NOW,
        ticket=ticket, **cast.ROW,
    )  # fmt: skip
    return {"test": cast.make_catch_test(visit, zone), "setting": setting, "ticket": ticket}


@pytest.mark.parametrize(
    ("model", "changes"),
    [
        (Visit, {"state": "resting"}),
        (Visit, {"kind": "picnic"}),
        (Visit, {"started_at": None}),
        (Visit, {"state": "finished"}),
        (Visit, {"finished_at": cast.NOW}),
        (CatchTest, {"cup_shape": "round"}),
        (CatchTest, {"run_min": 0.0}),
        (CatchTest, {"cups": 0}),
        (CatchTest, {"rate_mm_h": 0.0}),
        (CatchTest, {"rate_low_mm_h": 41.0}),
        (CatchTest, {"rate_high_mm_h": 39.0}),
        (CatchTest, {"du_lq": 1.01}),
        (CatchTest, {"is_pooled": True}),
        (CupReading, {"depth_mm": -0.1}),
        (CupReading, {"depth_mm": 300.1}),
        (CupReading, {"x_m": 1.0}),
        (CupReading, {"number": 1}),
        (Finding, {"fault": "haunted"}),
        (Finding, {"severity": "grave"}),
        (Finding, {"count": 0}),
        (Finding, {"mended_on_the_spot": True}),
        (RepairTicket, {"state": "lost"}),
        (ProgramSetting, {"seasonal_percent": 301}),
        (ProgramSetting, {"source": "dreamt"}),
        (SettingProgram, {"interval_days": 2}),
        (SettingRun, {"run_min": 0}),
        (SettingRun, {"run_min": 1441}),
    ],
)
def test_what_cannot_be_is_not_stored(rows, model, changes):
    before = list(model.objects.order_by("pk").values())

    with pytest.raises(IntegrityError), transaction.atomic():
        model.objects.update(**changes)

    assert list(model.objects.order_by("pk").values()) == before


@pytest.mark.parametrize("state", ["open", "agreed", "booked"])
def test_a_fault_has_one_live_ticket_in_a_zone(rows, visit, zone, state):
    twin = {"visit": visit, "state": state}

    with pytest.raises(IntegrityError), transaction.atomic():
        cast.make_ticket(visit.property, zone=zone, **twin)

    cast.make_ticket(visit.property, zone=None, **twin)
    with pytest.raises(IntegrityError), transaction.atomic():
        cast.make_ticket(visit.property, zone=None, **twin)
