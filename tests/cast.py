"""The cast of the tests: one company, its people, two clients; builders with fixed defaults.

Every builder makes a whole, valid row; a test names only what it is about.
"""

from __future__ import annotations

import datetime as dt
from typing import Any

from django_otp.oath import TOTP
from django_otp.plugins.otp_totp.models import TOTPDevice

from audits.models import (
    CatchTest,
    CupReading,
    PriceItem,
    RepairTicket,
    TicketLine,
    TicketState,
    Visit,
    VisitState,
)
from properties.models import (
    Company,
    Controller,
    Customer,
    HeadGroup,
    Licence,
    Property,
    Role,
    StaffMember,
    Zone,
)
from scheduling.models import WeatherDay, WeatherStation
from scheduling.services.et0 import compute_et0

NOW = dt.datetime(2026, 6, 10, 15, 0, tzinfo=dt.UTC)
TODAY = NOW.date()
PASSWORD = "a-long-and-odd-password"
SECOND_FACTOR_KEY = b"12345678901234567890".hex()  # the secret of RFC 6238, appendix B
ROW = {"created_at": NOW, "changed_at": NOW}


def make_company(**changes: Any) -> Company:
    values = {"name": "Meadowlark", "units": "us", "time_zone": "America/Chicago", **ROW}
    return Company.objects.create(**{**values, **changes})


def make_office(email: str = "office@meadowlark.example", **changes: Any) -> StaffMember:
    """An office user who has a second factor; its secret comes with `make_second_factor`."""
    since = changes.pop("second_factor_at", NOW)
    values = {"name": "Office", "role": Role.OFFICE, **changes}
    member = StaffMember.objects.create_user(email, PASSWORD, **values)
    member.second_factor_at = since
    member.save(update_fields=["second_factor_at"])
    return member


def make_second_factor(member: StaffMember) -> TOTPDevice:
    return TOTPDevice.objects.create(user=member, key=SECOND_FACTOR_KEY, confirmed=True)


def code_at(moment: dt.datetime = NOW, key: str = SECOND_FACTOR_KEY) -> str:
    """The six digits that an authenticator shows (RFC 6238)."""
    totp = TOTP(bytes.fromhex(key))
    totp.time = moment.timestamp()
    return f"{totp.token():06}"


def make_technician(email: str = "ruben@meadowlark.example", **changes: Any) -> StaffMember:
    values = {"name": "Ruben", "role": Role.TECHNICIAN, **changes}
    return StaffMember.objects.create_user(email, None, **values)


def make_customer(**changes: Any) -> Customer:
    values = {"name": "Ingrid Holm", "email": "ingrid@holm.example", **ROW}
    return Customer.objects.create(**{**values, **changes})


def make_property(customer: Customer | None = None, **changes: Any) -> Property:
    values = {
        "customer": customer or make_customer(),
        "name": "Holm garden",
        "street": "48 Kiln Street",
        "city": "Tallgrass",
        "latitude": 40.42,
        "longitude": -101.70,
        "time_zone": "America/Chicago",
        **ROW,
    }
    return Property.objects.create(**{**values, **changes})


def make_controller(property_: Property, **changes: Any) -> Controller:
    return Controller.objects.create(**{"property": property_, "name": "Garage", **ROW, **changes})


def make_zone(controller: Controller, **changes: Any) -> Zone:
    values = {
        "property": controller.property,
        "controller": controller,
        "number": 1,
        "name": "Front lawn",
        "area_m2": 200.0,
        "head_kind": "spray",
        "plant_type": "cool_turf",
        "soil_texture": "loam",
        "exposure": "full_sun",
        **ROW,
    }
    return Zone.objects.create(**{**values, **changes})


def make_heads(zone: Zone, **changes: Any) -> HeadGroup:
    values = {"kind": zone.head_kind, "count": 10, "rated_flow_l_min": 7.0, **ROW}
    return HeadGroup.objects.create(**{"zone": zone, **values, **changes})


def make_visit(property_: Property, technician: StaffMember, **changes: Any) -> Visit:
    values = {"property": property_, "technician": technician, "planned_date": TODAY, **ROW}
    return Visit.objects.create(**{**values, **changes})


def make_visit_under_way(property_: Property, technician: StaffMember, **changes: Any) -> Visit:
    return make_visit(property_, technician, state=VisitState.UNDER_WAY, started_at=NOW, **changes)


def make_catch_test(visit: Visit, zone: Zone, **changes: Any) -> CatchTest:
    """Twelve cups of 40 mm/h at uniformity 0.75, read one by one."""
    values = {
        "taken_at": NOW, "run_min": 10.0, "is_pooled": False, "cups": 12,
        "cup_shape": "straight_walled", "mean_depth_mm": 6.67, "rate_mm_h": 40.0,
        "rate_low_mm_h": 34.0, "rate_high_mm_h": 46.0, "du_lq": 0.75, "du_lh": 0.85, "cu": 0.84,
        **ROW,
    }  # fmt: skip
    test = CatchTest.objects.create(**{"visit": visit, "zone": zone, **values, **changes})
    depths = [] if test.is_pooled else [5.0] * 3 + [7.2] * 9
    CupReading.objects.bulk_create(
        CupReading(test=test, number=number, depth_mm=depth)
        for number, depth in enumerate(depths, start=1)
    )
    return test


def make_ticket(property_: Property, **changes: Any) -> RepairTicket:
    """A ticket with the facts that its state asks for."""
    state = TicketState(changes.get("state", TicketState.OPEN))
    values = {"property": property_, "fault": "leaning", "work": "Mend it.", **_facts_of(state)}
    if state in (TicketState.BOOKED, TicketState.MENDED, TicketState.PROVEN):
        visit = changes.get("visit") or make_visit_under_way(property_, _some_technician())
        values["visit"] = visit
        if state is not TicketState.BOOKED:
            values |= {"mended_by": visit.technician, "mended_at": NOW}
    return RepairTicket.objects.create(**{**values, **ROW, **changes})


def make_price_item(**changes: Any) -> PriceItem:
    values = {"code": "NZ-1", "name": "Nozzle", "kind": "part", "unit": "piece", "price": "4.25"}
    return PriceItem.objects.create(**{**values, **ROW, **changes})


def make_ticket_line(ticket: RepairTicket, **changes: Any) -> TicketLine:
    item = changes.get("item") or make_price_item()
    values = {"ticket": ticket, "item": item, "quantity": "3", "unit_price": item.price, **ROW}
    return TicketLine.objects.create(**{**values, **changes})


def make_licence(technician: StaffMember, **changes: Any) -> Licence:
    values = {
        "kind": "irrigation technician", "number": "L-1", "valid_from": dt.date(2026, 1, 1),
        "valid_until": dt.date(2026, 12, 31),
    }  # fmt: skip
    return Licence.objects.create(**{"staff": technician, **values, **changes})


def _facts_of(state: TicketState) -> dict[str, Any]:
    if state is TicketState.OPEN:
        return {}
    if state in (TicketState.DECLINED, TicketState.VOID):
        return {"closing_word": "Ingrid Holm"}
    return {"agreed_by": "Ingrid Holm", "agreed_at": NOW}


def _some_technician() -> StaffMember:
    return StaffMember.objects.filter(role=Role.TECHNICIAN).first() or make_technician()


def make_station(**changes: Any) -> WeatherStation:
    values = {
        "code": "ZZTEST00001", "name": "Tallgrass Field Station", "latitude": 40.4,
        "longitude": -101.73, "elevation_m": 1072.0, **ROW,
    }  # fmt: skip
    return WeatherStation.objects.create(**{**values, **changes})


def make_weather(station: WeatherStation, *, years: int = 6, first_year: int = 2015) -> None:
    """Give a station whole years of a plain climate: warm summers, a wet day every tenth day."""
    first = dt.date(first_year, 1, 1)
    count = (dt.date(first_year + years, 1, 1) - first).days
    days = [
        _weather_day(station, first + dt.timedelta(days=index), index) for index in range(count)
    ]
    compute_et0(days)
    WeatherDay.objects.bulk_create(days)


def _weather_day(station: WeatherStation, date: dt.date, index: int) -> WeatherDay:
    warmth = 1 - abs(date.month - 7) / 6  # 0 in January, 1 in July
    return WeatherDay(
        station=station,
        date=date,
        tmin_c=2.0 + 14 * warmth,
        tmax_c=12.0 + 20 * warmth,
        rain_mm=20.0 if index % 10 == 0 else 0.0,
    )
