"""A browser session lets in whom it should, and ends."""

from __future__ import annotations

import datetime as dt

import pytest
import time_machine
from django.test import Client

from properties.services.second_factor import end_sign_ins
from properties.services.staff import set_password
from tests import cast
from tests.conftest import pages_of

COMPANY, PAGES = "/api/v1/company", "/admin/"
MINUTE = dt.timedelta(minutes=1)


def open_doors(client):
    return [client.get(COMPANY).status_code == 200, client.get(PAGES).status_code == 200]


def at(moment):
    return time_machine.travel(moment, tick=False)


def test_it_opens_api_and_pages_to_the_office(office):
    assert open_doors(pages_of(office)) == [True, True]


def test_it_opens_nothing_without_the_second_factor(office, settings):
    client = Client()
    client.force_login(office)
    assert open_doors(client) == [False, False]

    office.second_factor_at = None
    office.save()
    begun_without = pages_of(office)
    assert open_doors(begun_without) == [False, False]
    settings.OFFICE_SECOND_FACTOR = "optional"
    assert open_doors(pages_of(office)) == [True, True]


def test_a_session_from_before_the_factor_ends_with_it(office, settings):
    settings.OFFICE_SECOND_FACTOR = "optional"
    office.second_factor_at = None
    office.save()
    client = pages_of(office)

    office.second_factor_at = cast.NOW
    office.save()

    assert open_doors(client) == [False, False]


def test_it_opens_nothing_to_technicians_and_leavers(office, technician):
    assert open_doors(pages_of(technician)) == [False, False]
    client = pages_of(office)
    office.is_active = False
    office.save()
    assert open_doors(client) == [False, False]


def test_it_ends_when_it_is_idle(office):
    client = pages_of(office)
    for minutes in (59, 118, 177):
        with at(cast.NOW + minutes * MINUTE):
            assert open_doors(client) == [True, True]
    with at(cast.NOW + (177 + 60) * MINUTE):
        assert open_doors(client) == [False, False]


def test_it_ends_after_a_working_day_however_busy(office, settings):
    settings.SESSION_IDLE_MIN = 10_000
    client = pages_of(office)

    with at(cast.NOW + dt.timedelta(hours=12) - MINUTE):
        assert open_doors(client) == [True, True]
    with at(cast.NOW + dt.timedelta(hours=12)):
        assert open_doors(client) == [False, False]


@pytest.mark.parametrize("end", ["password", "everywhere"])
def test_it_ends_with_a_new_password_and_when_one_signs_out_everywhere(office, end):
    client = pages_of(office)

    if end == "password":
        set_password(office, "another-long-password", actor=office, now=cast.NOW)
    else:
        end_sign_ins(office, now=cast.NOW)

    assert open_doors(client) == [False, False]


def test_a_request_with_a_token_does_not_look_at_sessions(office_api, django_assert_num_queries):
    office_api.get(COMPANY)

    with django_assert_num_queries(2):  # the token, the company
        answer = office_api.get(COMPANY)
    assert "Cookie" not in answer.get("Vary", "")
