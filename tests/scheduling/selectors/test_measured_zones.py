"""Zones that were mended after they were measured."""

from __future__ import annotations

import datetime as dt

import pytest

from audits.models import Finding
from scheduling.selectors.running_plans import zone_running_plan
from scheduling.selectors.seasons import zone_season
from scheduling.selectors.water_accounts import zone_account
from tests import cast
from tests.audits import field_rows
from tests.scheduling.weather_rows import make_days

pytestmark = pytest.mark.django_db
HOUR = dt.timedelta(hours=1)


@pytest.fixture
def uneven(visit, zone, station):
    make_days(station, count=90)
    return cast.make_catch_test(visit, zone, du_lq=0.30)


def mend(zone, at=cast.NOW + HOUR, of=True, **changes):
    cast.make_ticket(
        zone.property, zone=zone if of else None, state="mended", mended_at=at,
        **{"fault": "broken", **changes},
    )  # fmt: skip


def july(zone):
    _, _, found = zone_season(zone, cast.TODAY)
    return found.plan.months[6]


def test_a_ticket_mended_since_the_test_is_told_and_waters_less(zone, uneven):
    before = july(zone)

    mend(zone)

    after = july(zone)
    assert (before.mended_on, after.mended_on) == (None, cast.TODAY)
    assert before.repair_first
    assert not after.repair_first
    assert after.multiplier < before.multiplier
    assert after.rate_mm_h == before.rate_mm_h
    assert {"mended-rate", "mended-uniformity"} <= {reason.code for reason in after.reasons}


def test_a_repair_of_the_whole_property_counts_too(zone, uneven):
    mend(zone, of=False)

    assert july(zone).mended_on == cast.TODAY


@pytest.mark.parametrize(
    "mended",
    [
        {"at": cast.NOW - HOUR},
        {"fault": "wiring"},
        {"fault": "valve_does_not_close"},
    ],
)
def test_what_came_before_or_leaves_the_cups_alone_is_not_told(zone, uneven, mended):
    mend(zone, **mended)

    assert july(zone).mended_on is None


def test_a_repair_of_another_zone_is_not_told(zone, uneven):
    mend(cast.make_zone(zone.controller, number=2))

    assert july(zone).mended_on is None


def test_on_the_spot_counts_at_a_later_visit_and_not_at_that_of_the_test(zone, uneven, technician):
    def mend_at(visit, is_mended=True):
        Finding.objects.create(
            visit=visit, zone=zone, fault="broken", severity="major", mended_on_the_spot=is_mended,
            seen_at=cast.NOW + HOUR, **cast.ROW,
        )  # fmt: skip

    mend_at(uneven.visit)
    later = cast.make_visit_under_way(zone.property, technician)
    mend_at(later, is_mended=False)
    assert july(zone).mended_on is None

    mend_at(later)
    assert july(zone).mended_on == cast.TODAY


def test_a_retest_ends_it(zone, uneven):
    mend(zone)
    cast.make_catch_test(uneven.visit, zone, taken_at=cast.NOW + 2 * HOUR)

    assert july(zone).mended_on is None


def test_emitters_that_were_caught_before_a_repair_are_history_too(zone, visit, station):
    zone.head_kind = "drip"
    zone.save()
    cast.make_heads(zone, kind="drip", count=400)
    field_rows.make_emitter_check(visit, zone)
    assert july(zone).mended_on is None

    mend(zone)

    found = july(zone)
    assert (found.mended_on, found.estimated) == (cast.TODAY, True)


def test_running_plan_and_account_see_the_same_repair(zone, uneven):
    mend(zone)

    (found,) = zone_running_plan(zone, cast.NOW + 2 * HOUR).zones
    account = zone_account(zone, cast.TODAY - dt.timedelta(days=5), cast.TODAY)

    assert found.facts.mended_on == account.facts.mended_on == cast.TODAY
    assert "mended-rate" in {reason.code for reason in found.plan.reasons}
