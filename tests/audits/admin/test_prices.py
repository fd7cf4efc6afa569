"""The price list at the office's pages."""

from __future__ import annotations

import pytest
from django.test import Client

from audits.models import PriceItem
from properties.models import Event, Property
from tests import cast
from tests.properties.admin.forms import address_of, errors_of, filled_form

pytestmark = pytest.mark.django_db


@pytest.fixture
def item(company: object) -> PriceItem:
    return cast.make_price_item()


def test_an_item_is_changed_through_the_service(office_pages: Client, item: PriceItem):
    form = filled_form(office_pages, address_of(item)) | {"price": "5.10", "code": "X", "kind": "x"}
    del form["is_active"]

    office_pages.post(address_of(item), form)

    item.refresh_from_db()
    assert (str(item.price), item.is_active, item.code) == ("5.10", False, "NZ-1")
    event = Event.objects.get(subject_id=item.pk)
    assert (event.act, event.before) == ("retired", {"price": "4.25", "is_active": True})


def test_a_refusal_stands_at_the_form(office_pages: Client, item: PriceItem, garden: Property):
    cast.make_ticket_line(cast.make_ticket(garden), item=item)
    form = filled_form(office_pages, address_of(item))

    renamed = office_pages.post(address_of(item), form | {"name": "Pipe"})
    stale = office_pages.post(address_of(item), form | {"price": "1", "read_revision": "7"})

    assert "stands on tickets" in errors_of(renamed)["name"][0]
    assert "in the meantime" in errors_of(stale)["__all__"][0]
    assert PriceItem.objects.get().name == "Nozzle"
    assert not Event.objects.filter(subject_id=item.pk).exists()


def test_a_save_without_a_change_is_no_event(office_pages: Client, item: PriceItem):
    answer = office_pages.post(address_of(item), filled_form(office_pages, address_of(item)))

    assert answer.status_code == 302
    assert not Event.objects.filter(subject_id=item.pk).exists()
