"""Who joins late in a month gets one notice, not two within days."""

from __future__ import annotations

import datetime as dt

import pytest
from django.utils import timezone

from properties.models import Customer
from scheduling.models import Notice
from scheduling.services.monthly_notices import monthly_notice_of
from tests import cast
from tests.scheduling.services.test_monthly_notices import (
    DAY,
    DUE,
    JULY,
    make_garden,
    periods,
    work,
)

pytestmark = pytest.mark.django_db
JUNE = dt.date(2026, 6, 1)


def days_until(end: dt.datetime, start: dt.datetime):
    """Have the hourly look made, each three hours."""
    moment = start
    while moment < end:
        work(moment)
        moment += dt.timedelta(hours=3)


def june(day: int, hour: int = 12) -> dt.datetime:
    return dt.datetime(2026, 6, day, hour, tzinfo=dt.UTC)


@pytest.mark.parametrize(
    ("joins", "months"),
    [(june(10), [6, 7]), (june(18), [6, 7]), (june(19), [7]), (june(27), [7]), (june(28), [7])],
)
def test_a_property_made_late_in_the_month_begins_with_the_next_one(
    company, station, joins, months
):
    garden = make_garden("Ingrid Holm")

    days_until(june(30), joins)

    assert [period.month for period in periods(garden)] == months


def test_consent_given_late_in_the_month_begins_with_the_next_one(company, station):
    garden = make_garden("Ingrid Holm")
    Customer.objects.update(wants_notices=False)
    work(june(11))
    Customer.objects.update(wants_notices=True)

    days_until(june(30), june(27))

    assert periods(garden) == [JULY]


def test_who_agrees_again_late_in_the_month_waits_too(company, station):
    garden = make_garden("Ingrid Holm")
    work(dt.datetime(2026, 3, 10, tzinfo=dt.UTC))

    days_until(june(30), june(25))

    assert [period.month for period in periods(garden)] == [3, 7]


def test_who_was_told_of_the_month_before_misses_none_after_an_outage(company, station):
    garden = make_garden("Ingrid Holm")
    work(dt.datetime(2026, 5, 10, tzinfo=dt.UTC))

    work(june(25))

    assert [period.month for period in periods(garden)] == [5, 6]


@pytest.mark.parametrize(
    ("time_zone", "last_open"),
    [
        ("Pacific/Honolulu", june(19, 9)),  # the 19th begins there at 10:00 UTC
        ("America/Chicago", june(19, 4)),  # at 05:00 UTC
        ("Pacific/Auckland", june(18, 11)),  # at 12:00 UTC of the 18th
    ],
)
def test_the_last_day_is_that_of_the_propertys_clock(company, station, time_zone, last_open):
    garden = make_garden("Ingrid Holm", time_zone=time_zone)

    work(last_open + dt.timedelta(hours=1))
    assert periods(garden) == []
    Customer.objects.update(name="Ingrid Berg")
    work(last_open)
    assert periods(garden) == [JUNE]


def test_each_client_waits_by_his_own_clock(company, station):
    west = make_garden("Ingrid Holm", time_zone="Pacific/Honolulu")
    east = make_garden("Kai Berg", time_zone="Pacific/Auckland")

    work(june(19, 6))
    assert (periods(west), periods(east)) == ([JUNE], [])

    work(june(27, 13))  # the 28th has begun in Auckland
    assert (periods(west), periods(east)) == ([JUNE], [JULY])


def test_by_hand_he_gets_the_month_that_he_would_get(company, station):
    garden = make_garden("Ingrid Holm")

    assert monthly_notice_of(garden, None, now=june(25)).period == JULY


def test_by_hand_who_was_told_gets_the_month_that_runs(company, station):
    garden = make_garden("Ingrid Holm")
    work(cast.NOW)

    assert monthly_notice_of(garden, None, now=june(25)).period == JUNE
    assert Notice.objects.count() == 1


@pytest.mark.parametrize("whose", ["retired_at", "customer__retired_at"])
def test_what_is_retired_is_told_nothing(company, station, whose):
    garden = make_garden("Ingrid Holm")
    row = garden.customer if whose.startswith("customer") else garden
    type(row).objects.filter(pk=row.pk).update(retired_at=timezone.now())

    work(DUE + DAY)

    assert not Notice.objects.exists()
