"""What the office asks of plans and weather."""

from __future__ import annotations

import datetime as dt
from typing import Any

from scheduling.models import WateringPlan, WeatherDay
from tests import cast
from tests.reports.admin.test_every_page import make_plan
from tests.scheduling.program_rows import make_fitted

API = "/api/v1"


def rows(api: Any, path: str, **query: Any) -> list[Any]:
    answer = api.get(f"{API}/{path}", query)
    assert answer.status_code == 200, answer.content
    found: list[Any] = answer.json()["results"]
    return found


def test_plans_that_came_since_a_moment(office_api, zone):
    old, new = make_plan(zone, 1), make_plan(zone, 2)
    WateringPlan.objects.filter(pk=old.pk).update(created_at=cast.NOW - dt.timedelta(days=2))
    fitted = make_fitted(zone.controller)
    since = (cast.NOW - dt.timedelta(hours=1)).isoformat()

    plans = rows(office_api, "watering-plans", created_since=since)
    programs = rows(office_api, "controller-programs", created_since=since)

    assert [row["id"] for row in plans] == [str(new.pk)]
    assert [row["id"] for row in programs] == [str(fitted.pk)]
    assert rows(office_api, "controller-programs", created_since="2026-06-11T00:00:00Z") == []


def test_properties_with_a_zone_that_has_no_plan(office_api, zone, other_garden):
    make_plan(zone)
    for number in (2, 3):
        cast.make_zone(zone.controller, number=number)
    cast.make_zone(zone.controller, number=4, is_active=False)
    planned = cast.make_zone(cast.make_controller(other_garden))
    make_plan(planned)

    (found,) = rows(office_api, "unplanned-properties", expand="customer")

    assert (found["property"], found["zones_without_plan"]) == (str(zone.property_id), 2)
    assert found["expanded"]["customer"]["name"] == "Ingrid Holm"


def test_stations_without_weather_come_first_then_the_oldest(office_api, company):
    for code, days in (("A", [1, 400]), ("B", [9]), ("C", [])):
        station = cast.make_station(code=code, name=code)
        for ago in days:
            WeatherDay.objects.create(
                station=station, date=cast.TODAY - dt.timedelta(days=ago), et0_mm=4.0
            )
        WeatherDay.objects.create(station=station, date=cast.TODAY)  # nothing was observed

    found = rows(office_api, "weather-ages")
    old = rows(office_api, "weather-ages", newest_date_max="2026-06-05")

    assert [(row["code"], row["newest_date"]) for row in found] == [
        ("C", None), ("B", "2026-06-01"), ("A", "2026-06-09"),
    ]  # fmt: skip
    assert [row["code"] for row in old] == ["B"]
    assert [row["code"] for row in rows(office_api, "weather-ages", has_weather="false")] == ["C"]
    assert rows(office_api, "weather-ages", is_used="true") == []
