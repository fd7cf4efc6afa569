"""Refills under rules that leave only some days."""

from __future__ import annotations

import numpy as np
import pytest

from scheduling.domain.refill import RefillZones, refill_when_due
from tests.scheduling.domain.refill_cases import RULE, steady


def test_under_a_rule_a_watering_lasts_until_the_next_day_that_is_allowed():
    # Arithmetic: 5 mm a day, days 2 and 5 of each week: gaps of 3 and 4 days. On day 2 the store of
    # 60 mm, filled to 50, is due when 15 mm on it would fall below 26; on day 5 when 20 mm would.
    allowed = np.isin(np.arange(42) % 7, [2, 5])[:, np.newaxis]
    zones = RefillZones(storage_mm=[60.0], may_water=allowed)

    refills = refill_when_due(steady(5.0, 42), zones, RULE)

    watered = np.flatnonzero(refills.net_mm)
    assert watered.tolist()[:4] == [5, 9, 12, 16]
    assert refills.net_mm[5, 0] == pytest.approx(50.0 - (60.0 - 5 * 5.0))
    assert allowed[watered].all()
    assert refills.deficit_mm.max() == 0.0


def test_roots_that_do_not_last_until_the_next_allowed_day_are_filled_and_fall_short():
    # Arithmetic: 10 mm of 7 x 5 are all that one day a week can give.
    allowed = (np.arange(70) % 7 == 0)[:, np.newaxis]

    refills = refill_when_due(
        steady(5.0, 70), RefillZones(storage_mm=[10.0], may_water=allowed), RULE
    )

    assert refills.net_mm[7::7, 0].tolist() == [10.0] * 9
    assert refills.deficit_mm[7:, 0].sum() == pytest.approx(9 * 25.0)


def test_a_watering_leaves_room_but_for_what_is_used_until_the_next_allowed_day():
    # Arithmetic: of 12 mm a rule fills 7.2; three days of 3 mm want 9.
    allowed = (np.arange(31) % 3 == 0)[:, np.newaxis]

    refills = refill_when_due(
        steady(3.0, 31), RefillZones(storage_mm=[12.0], may_water=allowed), RULE
    )

    assert refills.net_mm[6:30:3, 0] == pytest.approx([9.0] * 8)
    assert refills.stored_mm[6:30:3, 0] == pytest.approx([6.0] * 8)
    assert refills.deficit_mm.max() == pytest.approx(0.0)


def test_a_rule_and_a_shortest_time_bind_together():
    allowed = (np.arange(60) % 2 == 0)[:, np.newaxis]
    zones = RefillZones(storage_mm=[20.0], may_water=allowed, min_days_between=[3])

    refills = refill_when_due(steady(5.0, 60), zones, RULE)

    watered = np.flatnonzero(refills.net_mm)
    assert set(np.diff(watered)) == {4}
    assert refills.net_mm[watered[1:]].max() == pytest.approx(20.0)
    assert refills.deficit_mm.max() == 0.0


def test_a_year_without_leave_gets_nothing():
    zones = RefillZones(storage_mm=[20.0], may_water=False)

    assert refill_when_due(steady(5.0, 60), zones, RULE).net_mm.sum() == 0.0
