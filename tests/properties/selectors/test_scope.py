"""Who sees which rows."""

from __future__ import annotations

import datetime as dt

import pytest

from properties.models import Controller, Property, Zone
from properties.selectors import scope
from properties.selectors.scope import (
    narrow_to_scope,
    register_technician_scope,
    visible_properties,
)
from tests import cast

NOW = cast.NOW


def test_the_office_sees_all(office, garden, other_garden):
    assert set(visible_properties(office, NOW)) == {garden, other_garden}


def test_a_technician_sees_the_properties_of_his_visits(technician, visit, other_garden):
    assert list(visible_properties(technician, NOW)) == [visit.property]


def test_a_technician_without_visits_sees_nothing(outsider, visit):
    assert not visible_properties(outsider, NOW).exists()


@pytest.mark.parametrize(("days", "sees"), [(-31, False), (-30, True), (30, True), (31, False)])
def test_the_window_is_thirty_days_each_way(technician, garden, days, sees):
    cast.make_visit(garden, technician, planned_date=cast.TODAY + dt.timedelta(days=days))

    assert visible_properties(technician, NOW).exists() is sees


def test_the_window_counts_the_days_of_the_company_and_not_of_greenwich(technician, garden):
    """At 02:00 UTC it is still the day before in Chicago."""
    night = dt.datetime(2026, 6, 11, 2, 0, tzinfo=dt.UTC)
    cast.make_visit(garden, technician, planned_date=dt.date(2026, 7, 11))

    assert not visible_properties(technician, night).exists()
    assert visible_properties(technician, night + dt.timedelta(hours=6)).exists()


def test_without_a_registered_scope_a_technician_sees_nothing(technician, visit, monkeypatch):
    monkeypatch.setattr(scope, "_TECHNICIAN_SCOPES", [])

    assert not visible_properties(technician, NOW).exists()


def test_several_scopes_add_up(technician, visit, other_garden, monkeypatch):
    monkeypatch.setattr(scope, "_TECHNICIAN_SCOPES", list(scope._TECHNICIAN_SCOPES))
    register_technician_scope(
        lambda staff, now: Property.objects.filter(pk=other_garden.pk).values("pk")
    )

    assert set(visible_properties(technician, NOW)) == {visit.property, other_garden}


def test_rows_are_narrowed_by_their_path_to_the_property_and_come_once(
    technician, visit, zone, other_garden
):
    foreign = cast.make_zone(cast.make_controller(other_garden))
    cast.make_visit(zone.property, technician)

    def seen(rows, path):
        return list(narrow_to_scope(rows, path, staff=technician, now=NOW))

    assert seen(Zone.objects.all(), "property") == [zone]
    assert seen(Controller.objects.all(), "property") == [zone.controller]
    assert seen(Zone.objects.filter(pk=foreign.pk), "property") == []
