from __future__ import annotations

import pytest
from django.test import Client

from properties.models import Event, Zone
from scheduling.models import WateringPlan, WeatherDay, WeatherStation
from tests import cast
from tests.properties.admin.forms import add_address, address_of, filled_form, list_address

pytestmark = pytest.mark.django_db
MONTH = {
    "month": 7, "minutes": 21, "waterings_per_day": 2, "cycles": 3, "cycle_min": 7, "soak_min": 44,
    "weekly_gross_mm": 51.11, "weekdays": None, "days_between": 3,
}  # fmt: skip


def plan_of(zone: Zone, *months: dict[str, object]) -> WateringPlan:
    return WateringPlan.objects.create(
        zone=zone, number=1, station=cast.make_station(), is_estimated=True, inputs={},
        months=list(months), settings_digest="x", **cast.ROW,
    )  # fmt: skip


def cells(*texts: str) -> str:
    return "".join(f"<td>{text}</td>" for text in texts)


def test_a_plans_months_stand_in_a_table(office_pages: Client, zone: Zone):
    named = MONTH | {"month": 8, "weekdays": [0, 4], "days_between": None}
    plan = plan_of(zone, {"month": 1, "minutes": 0}, MONTH, named)

    page = office_pages.get(address_of(plan)).content.decode()

    assert cells("January", "not", "", "", "", "") in page
    assert cells("July", "every 3 days", "42", "6 x 7 min", "44", "51.11") in page
    assert cells("August", "Mon, Fri") in page


def test_what_stands_in_a_plan_is_escaped(office_pages: Client, zone: Zone):
    plan = plan_of(zone, MONTH | {"soak_min": "<script>"})

    assert "<td>&lt;script&gt;</td>" in office_pages.get(address_of(plan)).content.decode()


def test_plans_and_days_cannot_be_changed(office_pages: Client, zone: Zone):
    plan = plan_of(zone, MONTH)
    day = WeatherDay.objects.create(station=plan.station, date=cast.TODAY, rain_mm=1)

    for row in (plan, day):
        assert office_pages.post(address_of(row), {"number": "2"}).status_code == 403


def test_a_station_is_added_with_an_event(office_pages: Client):
    form = filled_form(office_pages, add_address(WeatherStation)) | {
        "code": "ZZ1", "name": "Field", "latitude": "40.4", "longitude": "-101.7",
        "elevation_m": "1072",
    }  # fmt: skip

    office_pages.post(add_address(WeatherStation), form)

    assert Event.objects.get(subject_id=WeatherStation.objects.get().pk).act == "created"


def test_a_station_stays_where_its_days_were_computed(office_pages: Client):
    station = cast.make_station()
    form = filled_form(office_pages, address_of(station))

    office_pages.post(address_of(station), form | {"name": "Field", "latitude": "10"})

    station.refresh_from_db()
    assert (station.name, station.latitude) == ("Field", 40.4)


def test_the_list_of_stations_counts_their_days(office_pages: Client):
    station = cast.make_station()
    for day in (1, 2):
        WeatherDay.objects.create(station=station, date=f"2026-01-0{day}")

    page = office_pages.get(list_address(WeatherStation)).content.decode()

    assert '<td class="field-day_count">2</td>' in page
    assert "Jan. 2, 2026" in page
