"""Rows by the hundred are written as rows one by one: the same values and the same events."""

from __future__ import annotations

import pytest
from django.db import IntegrityError, transaction

from properties.domain.errors import StaleError
from properties.models import Customer, Event, Zone
from properties.services.bulk_rows import Change, add_rows, change_rows
from properties.services.rows import add_row, change_row
from tests import cast

pytestmark = pytest.mark.django_db
VALUES = {"name": "Ingrid", "email": "ingrid@holm.example", "reference": "K-1"}


def told(row):
    return [
        (event.act, event.actor, event.subject_kind, event.before, event.after)
        for event in Event.objects.filter(subject_id=row.pk).order_by("act")
    ]


def test_an_added_row_has_the_event_that_one_by_one_has(office):
    single = add_row(Customer, VALUES, actor=office, now=cast.NOW, act="imported")
    events = told(single)
    Customer.objects.all().delete()

    row = Customer(**VALUES)
    add_rows([row], actor=office, now=cast.NOW, act="imported")

    assert told(row) == events
    assert Customer.objects.get().created_at == cast.NOW


def test_a_changed_row_has_the_event_and_entered_values_that_one_by_one_has(zone, office):
    Zone.objects.update(entered={"area_m2": {"value": 1, "unit": "m2"}, "x": 1})
    zone.refresh_from_db()
    new = {"area_m2": 9.0, "name": "Lawn", "entered": {"area_m2": {"value": 9, "unit": "m2"}}}
    with transaction.atomic():
        change_row(Zone.objects.get(), new, actor=office, now=cast.NOW)
        events, entered = told(zone), Zone.objects.get().entered
        transaction.set_rollback(True)

    change_rows(Zone, [Change(zone.pk, 1, new)], actor=office, now=cast.NOW, act="changed")

    zone.refresh_from_db()
    assert (told(zone), zone.entered, zone.revision, zone.name) == (events, entered, 2, "Lawn")


def test_each_row_of_many_gets_its_own_changes(company, office):
    one, two = cast.make_customer(name="A"), cast.make_customer(name="B")
    changes = [Change(one.pk, 1, {"name": "C"}), Change(two.pk, 1, {"phone": "5"})]

    change_rows(Customer, changes, actor=office, now=cast.NOW, act="changed")

    found = Customer.objects.order_by("name").values_list("name", "phone", "revision")
    assert list(found) == [("B", "5", 2), ("C", "", 2)]


def test_a_row_that_somebody_else_changed_refuses_them_all(company, office):
    one, two = cast.make_customer(name="A"), cast.make_customer(name="B")
    changes = [Change(one.pk, 1, {"name": "C"}), Change(two.pk, 2, {"name": "D"})]

    with pytest.raises(StaleError):
        change_rows(Customer, changes, actor=office, now=cast.NOW, act="changed")

    assert set(Customer.objects.values_list("name", flat=True)) == {"A", "B"}
    assert not Event.objects.filter(subject_kind="properties.customer").exists()


def test_what_the_database_refuses_undoes_the_events_too(company, office):
    rows = [Customer(**VALUES), Customer(**VALUES)]

    with pytest.raises(IntegrityError), transaction.atomic():
        add_rows(rows, actor=office, now=cast.NOW, act="imported")

    assert not Event.objects.filter(subject_kind="properties.customer").exists()


def test_nothing_to_write_writes_nothing(company, office, django_assert_max_num_queries):
    with django_assert_max_num_queries(5):
        add_rows([], actor=office, now=cast.NOW, act="imported")
        change_rows(Customer, [], actor=office, now=cast.NOW, act="changed")

    assert not Event.objects.filter(act="imported").exists()
