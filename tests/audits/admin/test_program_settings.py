"""The page of a controller's setting says what is wrong with it."""

from __future__ import annotations

import pytest
from django.test import Client

from properties.models import Controller, Zone
from tests import cast
from tests.properties.admin.forms import address_of

pytestmark = pytest.mark.django_db


def test_the_page_tells_the_remarks_and_their_cure(
    office_pages: Client, controller: Controller, zone: Zone
):
    setting = controller.settings.create(
        source="found", since=cast.TODAY, clock_is_right=False, **cast.ROW
    )
    program = setting.programs.create(name="<A>", weekdays=[1], starts=["05:00", "19:00"])
    program.runs.create(zone=zone, run_min=15)

    page = office_pages.get(address_of(setting)).text

    assert "The controller&#x27;s clock is wrong." in page
    assert "Set day and time" in page
    assert "run by 2 starts (program &lt;A&gt;)" in page


def test_where_nothing_is_known_to_be_wrong_the_page_says_so(
    office_pages: Client, controller: Controller
):
    setting = controller.settings.create(source="found", since=cast.TODAY, **cast.ROW)

    assert "Nothing that is known." in office_pages.get(address_of(setting)).text
