"""Telling the apps above that another test rules a zone, where no end of a visit will tell them."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from uuid import UUID

from audits.models import Visit, VisitState
from audits.selectors.zones import ruling_tests
from audits.signals import ruling_test_changed
from properties.models import StaffMember, Zone


@contextmanager
def telling_of_ruling_test(
    visit: Visit, zone_id: UUID, *, actor: StaffMember, now: datetime
) -> Iterator[None]:
    """Send `ruling_test_changed` if what is done inside makes another test rule the zone.

    During a visit nothing is sent: its end brings the plans. The visit is held until the caller
    commits, so that it cannot end between our look at it and our test; the
    zone likewise, so that of two changes at two visits the later sees the earlier.
    """
    held = Visit.objects.select_for_update().get(pk=visit.pk)
    Zone.objects.select_for_update(no_key=True).get(pk=zone_id)
    if held.state != VisitState.FINISHED:
        yield
        return
    ruled_before = _ruling_id(zone_id)
    yield
    if _ruling_id(zone_id) != ruled_before:
        ruling_test_changed.send(Visit, visit=held, actor=actor, now=now)


def _ruling_id(zone_id: UUID) -> UUID | None:
    test = ruling_tests([zone_id]).get(zone_id)
    return test.pk if test else None
