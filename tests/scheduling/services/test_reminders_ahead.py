"""Reminders of what lies ahead: appointments, visits, frost."""

from __future__ import annotations

import datetime as dt

import pytest

from audits.models import Visit
from properties.models import Property
from scheduling.domain.notice_content import content_of
from scheduling.models import Notice, Reminder
from scheduling.services.plans import store_plans
from tests import cast
from tests.scheduling.services.reminder_looks import dates_of, days, live, look, noon
from tests.scheduling.weather_rows import make_forecast

pytestmark = pytest.mark.django_db
TODAY, DAY = cast.TODAY, dt.timedelta(days=1)  # 10 June 2026


@pytest.fixture
def garden(company):
    """A garden with a controller whose client agreed to notices."""
    garden = cast.make_property(cast.make_customer(wants_notices=True))
    cast.make_controller(garden)
    return garden


def test_an_appointment_is_told_three_days_ahead_and_no_more_on_its_day(garden, technician):
    date = TODAY + days(10)
    visit = cast.make_visit(garden, technician, planned_date=date)

    def found(when):
        return dates_of("appointment", when, audience="client")

    assert found(date - days(4)) == []
    assert found(date - days(3)) == found(date - days(1)) == [date]
    (notice,) = Notice.objects.filter(customer=garden.customer)
    assert notice.kind == "visit"
    assert [each.date for each in content_of(notice.content).calendar] == [date]
    assert found(date) == []
    assert Reminder.objects.get(visit=visit).state == "done"


def test_a_visit_that_moves_is_told_anew_and_one_called_off_is_not(garden, technician):
    visit = cast.make_visit(garden, technician, planned_date=TODAY + days(3))
    look(noon(TODAY))
    Visit.objects.filter(pk=visit.pk).update(planned_date=TODAY + days(4))
    look(noon(TODAY + DAY))

    entries = [content_of(row.content).calendar[0] for row in Notice.objects.order_by("created_at")]
    assert [each.date for each in entries] == [TODAY + days(3), TODAY + days(4)]
    assert len({each.uid for each in entries}) == 1

    Visit.objects.filter(pk=visit.pk).update(state="called_off")
    assert dates_of("appointment", TODAY + days(2), audience="client") == []


def test_a_technician_hears_of_tomorrow_without_how_to_get_in(garden, technician, outsider):
    Property.objects.update(access_notes="gate code 4711", animals="dog Rex", city="Tallgrass")
    for kind in ("audit", "repair"):
        cast.make_visit(garden, technician, kind=kind, planned_date=TODAY + DAY, notes="secret")
    cast.make_visit(garden, technician, planned_date=TODAY + days(2))
    cast.make_visit(garden, outsider, planned_date=TODAY)
    cast.make_visit(garden, outsider, planned_date=TODAY + DAY, state="called_off")

    look(noon(TODAY))

    (notice,) = Notice.objects.filter(staff__isnull=False)
    content = content_of(notice.content)
    assert (notice.staff, content.summary) == (
        technician, "You have 2 visits planned for June 11, 2026.",
    )  # fmt: skip
    assert sorted(content.sections[0].table.rows) == [
        ("Audit", "Holm garden", "48 Kiln Street, Tallgrass"),
        ("Repair", "Holm garden", "48 Kiln Street, Tallgrass"),
    ]
    assert dates_of("visits_tomorrow", TODAY + DAY, audience="technician") == [TODAY + days(2)]


@pytest.fixture
def planned_garden(garden, station):
    zone = cast.make_zone(garden.controllers.get())
    cast.make_heads(zone)
    store_plans(garden, actor=None, now=cast.NOW)
    return garden


def frosts():
    return list(Notice.objects.filter(kind="frost").order_by("created_at"))


def test_frost_ahead_is_told_once(planned_garden, station):
    make_forecast(station, *({"tmin_c": each} for each in (9.0, 8.0, 2.0, 1.0, 9.0)))

    look(noon(TODAY))
    look(noon(TODAY + DAY))

    (notice,) = frosts()
    content = content_of(notice.content)
    assert content.summary == (
        "By the forecast June 12 falls to 36 °F, the first of 2 such nights in a week: stop the "
        "sprinklers before it."
    )
    assert notice.customer == planned_garden.customer


def test_without_frost_ahead_nothing_is_told(planned_garden, station):
    make_forecast(station, *({"tmin_c": each} for each in (9.0, 8.0, 3.1)))

    look(noon(TODAY))

    assert frosts() == []


def test_a_forecast_that_moves_is_the_same_frost_and_a_hard_one_is_news(planned_garden, station):
    def forecast(date, tmin_c, made_on):
        station.forecast_documents.update(issued_at=noon(made_on))
        station.forecast_days.update(tmin_c=9.0)
        station.forecast_days.filter(date=date).update(tmin_c=tmin_c)

    make_forecast(station, *({"tmin_c": 9.0} for _ in range(14)))
    forecast(TODAY + days(4), 2.0, TODAY)
    look(noon(TODAY))
    forecast(TODAY + days(6), 1.0, TODAY + DAY)
    look(noon(TODAY + DAY))
    assert len(frosts()) == 1

    forecast(TODAY + days(6), -4.0, TODAY + days(2))
    look(noon(TODAY + days(2)))
    assert len(frosts()) == 2
    assert "a hard frost" in content_of(frosts()[1].content).summary

    forecast(TODAY + days(7), 2.0, TODAY + days(3))
    look(noon(TODAY + days(3)))
    forecast(TODAY + days(1), 9.0, TODAY + days(4))
    look(noon(TODAY + days(4)))
    assert len(frosts()) == 2
    assert live("frost") == []
