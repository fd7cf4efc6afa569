"""Rows for every list of the API."""

from __future__ import annotations

import datetime as dt

from audits.models import CatchTest, VisitState
from properties.models import Property, StaffMember
from properties.models.imports import Import
from properties.services.sign_in import issue_token
from scheduling.models import NightRun
from tests import cast
from tests.reports.admin.test_every_page import make_one_more_of_everything


def make_rows_for_lists(number: int) -> None:
    """Add a row of every kind, and what the admin's rows do not make."""
    make_one_more_of_everything(number)
    make_house(number)
    office = StaffMember.objects.filter(role="office").order_by("joined_at")[0]
    issue_token(office, label=f"program {number}", actor=office, now=cast.NOW)
    NightRun.objects.create(
        date=_long_ago(number), number=1, started_at=cast.NOW, state="done", ended_at=cast.NOW
    )
    Import.objects.create(
        kind="customers", name=f"{number}.csv", sha256=f"{number}", size_bytes=9, **cast.ROW
    )


def make_house(number: int) -> Property:
    """Make another client's house: audited or not, half measured and not planned."""
    client = cast.make_customer(name=f"Client {number}", email=f"c{number}@client.example")
    house = cast.make_property(client, name=f"House {number}", latitude=40.4 + number / 1000)
    controller = cast.make_controller(house)
    zone = cast.make_zone(controller, name=f"Bank {number}", area_m2=None if number % 2 else 90.0)
    if number % 2:
        visit = cast.make_visit(
            house, StaffMember.objects.filter(role="technician")[0], state=VisitState.FINISHED,
            planned_date=_long_ago(number), started_at=cast.NOW, finished_at=cast.NOW,
        )  # fmt: skip
        tested = cast.make_zone(controller, number=2)
        cast.make_catch_test(visit, tested, du_lq=None if number % 3 else 0.4 + number / 200)
    cast.make_ticket(house, zone=zone, state="agreed" if number % 2 else "open")
    cast.make_station(code=f"ZZLIST{number:05}", name=f"Station {number}")
    banks = CatchTest.objects.filter(zone__name__startswith="Bank", voided_at__isnull=True)
    banks.update(voided_at=cast.NOW, void_reason="The wrong zone ran.")
    return house


def _long_ago(number: int) -> dt.date:
    return cast.TODAY - dt.timedelta(days=400 + number)
