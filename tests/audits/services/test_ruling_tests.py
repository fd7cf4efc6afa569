"""The apps above hear of a test that rules otherwise, once no end of a visit will tell them."""

from __future__ import annotations

import datetime as dt

import pytest

from audits.domain.catch_cups import CupShape
from audits.models import CatchTest, Visit
from audits.services.catch_tests import Catch, record_catch_test
from audits.services.visits import finish_visit
from audits.services.void_tests import void_test
from audits.signals import ruling_test_changed
from properties.domain.errors import DomainError
from tests import cast

HOUR = dt.timedelta(hours=1)


@pytest.fixture
def heard():
    news = []

    def hear(sender, **words):
        news.append((sender, words["visit"], words["actor"], words["now"]))

    ruling_test_changed.connect(hear)
    yield news
    ruling_test_changed.disconnect(hear)


@pytest.fixture
def finished(visit, technician):
    return finish_visit(visit, actor=technician, now=cast.NOW)


def record(visit, zone, *, minutes=10.0, **values):
    catch = Catch(run_min=minutes, cup_shape=CupShape.STRAIGHT_WALLED, depths_mm=[5.0, 6.0, 7.0, 8])
    values = {"visit": visit, "zone": zone, "taken_at": cast.NOW, **values}
    return record_catch_test(values, catch, actor=visit.technician, now=cast.NOW + HOUR)


def test_a_late_test_is_told_with_its_finished_visit(finished, zone, technician, heard):
    record(finished, zone)

    assert heard == [(Visit, finished, technician, cast.NOW + HOUR)]


def test_during_a_visit_nothing_is_told_whatever_is_recorded(visit, zone, technician, heard):
    first = record(visit, zone)
    second = record(visit, zone, supersedes=first)
    void_test(second, "Wrong zone ran.", actor=technician, now=cast.NOW)

    assert heard == []


def test_a_visit_that_ended_since_it_was_read_is_seen_as_it_is(visit, zone, technician, heard):
    stale = Visit.objects.get()
    finish_visit(visit, actor=technician, now=cast.NOW)

    record(stale, zone)

    assert len(heard) == 1


def test_a_superseding_and_a_voided_test_are_told_too(finished, zone, technician, heard):
    first = record(finished, zone)
    second = record(finished, zone, supersedes=first)
    void_test(second, "Wrong zone ran.", actor=technician, now=cast.NOW)

    assert len(heard) == 3


def test_the_office_that_voids_is_told_as_who_did_it(finished, zone, office, heard):
    test = cast.make_catch_test(finished, zone)

    void_test(test, "Wrong zone ran.", actor=office, now=cast.NOW)

    assert heard == [(Visit, finished, office, cast.NOW)]


def test_what_does_not_rule_is_no_news(finished, zone, technician, heard):
    cast.make_catch_test(finished, zone)

    before = record(finished, zone, before_mending=True, taken_at=cast.NOW)
    older = record(finished, zone, taken_at=cast.NOW - 2 * HOUR)
    void_test(before, "Twice.", actor=technician, now=cast.NOW)
    void_test(older, "Twice.", actor=technician, now=cast.NOW)

    assert heard == []


def test_a_test_from_before_mending_is_news_where_it_takes_another_out_of_force(
    finished, zone, heard
):
    ruling = cast.make_catch_test(finished, zone)

    record(finished, zone, before_mending=True, supersedes=ruling)

    assert len(heard) == 1


def test_another_zones_test_is_not_mistaken_for_this_ones(finished, controller, zone, heard):
    cast.make_catch_test(finished, zone)

    record(finished, cast.make_zone(controller, number=2))

    assert len(heard) == 1


def test_what_is_refused_is_neither_stored_nor_told(finished, zone, technician, office, heard):
    with pytest.raises(DomainError):
        record(finished, zone, minutes=0.0)
    voided = cast.make_catch_test(finished, zone, voided_at=cast.NOW, void_reason="x")
    with pytest.raises(DomainError):
        void_test(voided, "Again.", actor=office, now=cast.NOW)

    assert CatchTest.objects.count() == 1
    assert heard == []
