from __future__ import annotations

import pytest
from django.test import Client

from scheduling.models import ForecastDay, ForecastDocument, ForecastFetch
from tests import cast
from tests.properties.admin.forms import address_of, list_address

pytestmark = pytest.mark.django_db


@pytest.fixture
def rows(company):
    station = cast.make_station()
    document = ForecastDocument.objects.create(
        station=station, style="daily_arrays", issued_at=cast.NOW, retrieved_at=cast.NOW,
        body='{"a": "<script>"}', digest="x",
    )  # fmt: skip
    day = ForecastDay.objects.create(
        station=station, document=document, date=cast.TODAY, rain_mm=12.5,
        rain_probability_percent=80,
    )  # fmt: skip
    fetch = ForecastFetch.objects.create(
        station=station, tried_at=cast.NOW, failures=3, problem="The source answered with HTTP 404."
    )
    return document, day, fetch


def test_the_office_sees_days_documents_and_fetches(office_pages: Client, rows):
    document, day, _ = rows

    days = office_pages.get(list_address(ForecastDay)).content.decode()
    assert '<td class="field-rain_mm">12.5</td>' in days
    assert "HTTP 404" in office_pages.get(list_address(ForecastFetch)).content.decode()
    assert office_pages.get(list_address(ForecastDocument)).status_code == 200
    assert "12.5" in office_pages.get(address_of(day)).content.decode()
    body = office_pages.get(address_of(document)).content.decode()
    assert "{&quot;a&quot;: &quot;&lt;script&gt;&quot;}" in body


def test_the_list_of_documents_leaves_their_bodies_where_they_are(
    office_pages: Client, rows, django_assert_max_num_queries
):
    with django_assert_max_num_queries(12) as asked:
        office_pages.get(list_address(ForecastDocument))

    assert not any('"body"' in query["sql"] for query in asked.captured_queries)


def test_none_of_it_can_be_changed_or_added(office_pages: Client, rows):
    for row in rows:
        assert office_pages.post(address_of(row), {"problem": ""}).status_code == 403
        assert office_pages.get(f"{list_address(type(row))}add/").status_code == 403
