"""The company's memory refuses changes in the database itself."""

from __future__ import annotations

import pytest
from django.db import IntegrityError, connection, transaction

from properties.models import Event
from properties.services.events import record_event
from tests import cast


@pytest.fixture
def event(garden, office):
    return record_event(garden, act="created", actor=office, now=cast.NOW, after={"city": "x"})


def _refused(act):
    append_only = pytest.raises(IntegrityError, match="properties_event is append-only")
    with append_only, transaction.atomic():
        act()


def test_an_event_refuses_updates(event):
    event.act = "forged"

    _refused(event.save)
    _refused(lambda: Event.objects.filter(pk=event.pk).update(act="forged"))
    _refused(lambda: Event.objects.bulk_update([event], ["act"]))

    assert Event.objects.get(pk=event.pk).act == "created"


def test_an_event_refuses_deletion(event):
    _refused(event.delete)
    _refused(Event.objects.all().delete)

    assert Event.objects.filter(pk=event.pk).exists()


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE properties_event SET act = 'forged'",
        "DELETE FROM properties_event",
        "UPDATE properties_event SET at = at",
    ],
)
def test_an_event_refuses_plain_sql(event, statement):
    with connection.cursor() as cursor:
        _refused(lambda: cursor.execute(statement))

    assert Event.objects.count() >= 1


def test_events_can_be_added(event):
    assert str(event) == f"created properties.property {event.subject_id}"
