"""The office reads on the page what to type into a controller."""

from __future__ import annotations

import pytest

from scheduling.models import ControllerProgram
from tests.scheduling.program_rows import make_fitted

PAGE = "/admin/scheduling/controllerprogram/"


@pytest.fixture
def fitted(visit, zone):
    return make_fitted(zone.controller)


def test_the_page_shows_the_table_that_is_typed_from(office_pages, fitted):
    text = office_pages.get(f"{PAGE}{fitted.pk}/change/").content.decode()

    assert "Program A   starts" in text
    assert "Front lawn" in text
    assert "What cures it: Ask for more." in text


def test_names_on_the_page_cannot_carry_markup(office_pages, fitted, zone):
    zone.name = "<b>Lawn</b>"
    zone.save()

    text = office_pages.get(f"{PAGE}{fitted.pk}/change/").content.decode()

    assert "<b>Lawn" not in text
    assert "&lt;b&gt;Lawn" in text


def test_a_set_of_a_single_month_says_what_to_do(office_pages, fitted):
    ControllerProgram.objects.update(months=[])

    assert (
        "have the controller fitted anew"
        in office_pages.get(f"{PAGE}{fitted.pk}/change/").content.decode()
    )
