"""Fixtures that every test may ask for."""

from __future__ import annotations

import os
from collections.abc import Iterator
from typing import Any

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.utils import timezone
from rest_framework.test import APIClient

from audits.models import Visit
from properties.http.sessions import marks_of
from properties.models import Company, Controller, Property, StaffMember, Zone, append_only
from properties.services.sign_in import issue_token
from scheduling.models import WeatherStation
from tests import cast
from tests.reports.faults.table import print_table

# Its requests close the connection under the transaction that undoes them, on PostgreSQL alone.
collect_ignore = (
    ["config/test_schemathesis.py"]
    if os.environ.get("DATABASE_URL", "").startswith("postgres")
    else []
)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Leave service tests out where the services are not named; CI names them and skips none."""
    if os.environ.get("REDIS_URL") and os.environ.get("DATABASE_URL", "").startswith("postgres"):
        return
    for item in items:
        if item.get_closest_marker("services"):
            item.add_marker(pytest.mark.skip(reason="needs DATABASE_URL and REDIS_URL"))


def pytest_sessionfinish(session: pytest.Session) -> None:
    """With NO_SKIPS set (CI), a skipped test is a failure: no service test hides."""
    reporter = session.config.pluginmanager.get_plugin("terminalreporter")
    if os.environ.get("NO_SKIPS") and reporter and reporter.stats.get("skipped"):
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


def pytest_terminal_summary(terminalreporter: Any) -> None:
    """End with the table of faults; here, since a run in several processes reads no other."""
    print_table(terminalreporter)


def pytest_make_parametrize_id(config, val, argname):
    """Name bytes by their argument: packed ones hold the time, and workers must agree on names."""
    return argname if isinstance(val, bytes) else None


@pytest.fixture(autouse=True)
def _append_only_while_flushing(request: pytest.FixtureRequest) -> Iterator[None]:
    """Let the flush after a transactional test empty the append-only table on SQLite.

    PostgreSQL empties by TRUNCATE, which a trigger for each row does not see.
    """
    marker = request.node.get_closest_marker("django_db")
    is_transactional = bool(marker and marker.kwargs.get("transaction"))
    if not is_transactional or connection.vendor != "sqlite":
        yield
        return
    request.getfixturevalue("transactional_db")
    with connection.schema_editor() as schema_editor:
        append_only.install(schema_editor, "properties_event")
    yield
    with connection.schema_editor() as schema_editor:
        append_only.remove(schema_editor, "properties_event")


def client_of(staff: StaffMember) -> APIClient:
    _, secret = issue_token(staff, label="test", actor=staff, now=cast.NOW)
    client = APIClient()
    client.credentials(HTTP_AUTHORIZATION=f"Bearer {secret}")
    return client


def pages_of(staff: StaffMember) -> Client:
    """Sign a browser in, as the sign-in page does after the second factor."""
    client = Client()
    client.force_login(staff)
    session = client.session
    session.update(marks_of(staff, timezone.now()))
    session.save()
    return client


@pytest.fixture
def company(db: None) -> Company:
    return cast.make_company()


@pytest.fixture
def office(company: Company) -> StaffMember:
    return cast.make_office()


@pytest.fixture
def technician(company: Company) -> StaffMember:
    return cast.make_technician()


@pytest.fixture
def outsider(company: Company) -> StaffMember:
    """A technician without any visit: the property of others does not exist for him."""
    return cast.make_technician("olga@meadowlark.example", name="Olga")


@pytest.fixture
def garden(company: Company) -> Property:
    return cast.make_property()


@pytest.fixture
def other_garden(company: Company) -> Property:
    customer = cast.make_customer(name="Tomas Brandt", email="tomas@brandt.example")
    return cast.make_property(customer, name="Brandt yard", street="3 Mill Lane")


@pytest.fixture
def controller(garden: Property) -> Controller:
    return cast.make_controller(garden)


@pytest.fixture
def zone(controller: Controller) -> Zone:
    return cast.make_zone(controller)


@pytest.fixture
def visit(garden: Property, technician: StaffMember) -> Visit:
    return cast.make_visit_under_way(garden, technician)


@pytest.fixture
def station(company: Company) -> WeatherStation:
    station = cast.make_station()
    cast.make_weather(station)
    return station


@pytest.fixture
def office_api(office: StaffMember) -> APIClient:
    return client_of(office)


@pytest.fixture
def technician_api(technician: StaffMember) -> APIClient:
    return client_of(technician)


@pytest.fixture
def outsider_api(outsider: StaffMember) -> APIClient:
    return client_of(outsider)


@pytest.fixture
def anonymous_api() -> APIClient:
    return APIClient()


@pytest.fixture(autouse=True)
def _now(request: pytest.FixtureRequest) -> Iterator[None]:
    """Hold the clock still at the cast's moment for tests that touch the database."""
    if not request.node.get_closest_marker("django_db") and "db" not in request.fixturenames:
        yield
        return

    with time_machine.travel(cast.NOW, tick=False):
        yield
