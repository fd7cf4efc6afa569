"""What an event keeps."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal

from properties.services.events import record_event, snapshot
from tests import cast


def test_only_what_changed_is_kept(garden, office):
    event = record_event(
        garden, act="changed", actor=office, now=cast.NOW,
        before={"a": 1, "b": 2, "gone": 3}, after={"a": 1, "b": 5, "new": 4},
    )  # fmt: skip

    event.refresh_from_db()
    assert event.before == {"b": 2, "gone": 3}
    assert event.after == {"b": 5, "new": 4}
    assert event.subject_id == garden.pk


def test_an_event_needs_no_fields(garden):
    event = record_event(garden, act="seen", actor=None, now=cast.NOW)

    assert (event.before, event.after) == ({}, {})


def test_a_snapshot_holds_json_values_and_no_row_keeping(garden):
    garden.water_price_per_m3 = Decimal("1.2500")

    values = snapshot(garden)

    assert values["customer"] == str(garden.customer_id)
    assert values["water_price_per_m3"] == "1.2500"
    assert values["latitude"] == 40.42
    assert not {"id", "created_at", "changed_at", "revision"} & values.keys()


def test_days_moments_and_bytes_become_words(visit):
    visit.notes = b"12345"

    values = snapshot(visit)

    assert values["planned_date"] == "2026-06-10"
    assert values["started_at"] == "2026-06-10T15:00:00+00:00"
    assert values["notes"] == "5 bytes"
    assert dt.datetime.fromisoformat(values["started_at"]) == cast.NOW
