"""What a technician sees: his own visits within thirty days, and the properties behind them."""

from __future__ import annotations

import datetime as dt

import pytest

from audits.models import Visit
from audits.selectors.scope import own_visits, technician_property_ids
from properties.models import Company
from properties.selectors.scope import visible_properties
from tests import cast


def days(count):
    return cast.TODAY + dt.timedelta(days=count)


def seen_by(staff, now=cast.NOW):
    return set(own_visits(Visit.objects.all(), staff=staff, now=now))


@pytest.mark.parametrize(
    ("distance", "is_seen"), [(-31, False), (-30, True), (0, True), (30, True), (31, False)]
)
def test_a_visit_is_seen_from_thirty_days_before_to_thirty_days_after(
    garden, technician, distance, is_seen
):
    visit = cast.make_visit(garden, technician, planned_date=days(distance))

    assert seen_by(technician) == ({visit} if is_seen else set())
    assert set(visible_properties(technician, cast.NOW)) == ({garden} if is_seen else set())


# 03:00 UTC on June 11 is 22:00 on June 10 in Chicago and 12:00 on June 11 in Tokyo.
@pytest.mark.parametrize(
    ("zone", "distance", "is_seen"),
    [("America/Chicago", -30, True), ("Asia/Tokyo", -30, False), ("America/Chicago", 31, False),
     ("Asia/Tokyo", 31, True)],
)  # fmt: skip
def test_days_are_those_of_the_company(garden, technician, zone, distance, is_seen):
    Company.objects.update(time_zone=zone)
    cast.make_visit(garden, technician, planned_date=days(distance))

    late = dt.datetime(2026, 6, 11, 3, 0, tzinfo=dt.UTC)

    assert bool(seen_by(technician, late)) is is_seen


def test_a_visit_given_to_a_colleague_disappears_and_appears_there(garden, technician, outsider):
    visit = cast.make_visit(garden, technician)
    assert seen_by(outsider) == set()

    Visit.objects.filter(pk=visit.pk).update(technician=outsider)

    assert seen_by(technician) == set()
    assert seen_by(outsider) == {visit}
    assert not visible_properties(technician, cast.NOW).exists()


def test_the_property_stays_in_sight_through_another_visit(garden, technician):
    cast.make_visit(garden, technician, planned_date=days(-60))
    cast.make_visit(garden, technician, planned_date=days(3))

    found = technician_property_ids(technician, cast.NOW)

    assert [row["property"] for row in found] == [garden.pk]


def test_the_office_sees_all(garden, other_garden, technician, office):
    far = cast.make_visit(garden, technician, planned_date=days(-400))

    assert seen_by(office) == {far}
    assert set(visible_properties(office, cast.NOW)) == {garden, other_garden}
