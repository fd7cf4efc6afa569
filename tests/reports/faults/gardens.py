"""Gardens whose clients are told something, and notices that wait to be sent."""

from __future__ import annotations

import datetime as dt

from properties.models import Company, Property
from scheduling.models import WeatherStation
from scheduling.services.notices import queue_notices
from scheduling.services.plans import store_plans
from tests import cast
from tests.reports.faults.publisher import drafts
from tests.reports.faults.stage import Stage

CALM_NIGHT = dt.datetime(2026, 6, 10, 6, 0, tzinfo=dt.UTC)
"""One o'clock in Chicago: too early for the night and for reminders."""


def queue(scene: Stage, garden: Property, count: int) -> None:
    """Queue so many notices; the jobs wait, and nobody is told of them but by the sweep."""
    whose = {"customer_id": garden.customer_id, "property_id": garden.pk}
    assert queue_notices(drafts(count, **whose), now=scene.clock.now()) == count


def make_firm(**company: str) -> Company:
    """Make a company with an office and a station that plans can be made from."""
    cast.make_office()
    cast.make_weather(cast.make_station(), years=5, first_year=2017)  # enough to know heat by
    return cast.make_company(**company)


def make_planned_garden(number: int, **changes: object) -> Property:
    """Make a garden with one zone, its plan, and an agreement that is long overdue."""
    assert WeatherStation.objects.exists()
    customer = cast.make_customer(
        name=f"Client {number}", email=f"client{number}@holm.example", wants_notices=True
    )
    garden = cast.make_property(customer, name=f"Garden {number}", **changes)
    zone = cast.make_zone(cast.make_controller(garden))
    cast.make_heads(zone)
    cast.make_ticket(garden)
    store_plans(garden, actor=None, now=cast.NOW)
    return garden
