from django.test import RequestFactory
from django.utils import timezone

from properties.http.company_clock import CompanyClock


def zone_seen_at(path):
    seen = []
    CompanyClock(lambda request: seen.append(timezone.get_current_timezone_name()))(
        RequestFactory().get(path)
    )
    return seen[0]


def test_the_office_pages_run_by_the_company_clock(company):
    assert zone_seen_at("/admin/audits/visit/") == "America/Chicago"


def test_the_api_stays_in_utc(company):
    assert zone_seen_at("/api/v1/visits") == "UTC"


def test_pages_before_the_company_is_founded_stay_in_utc(db):
    assert zone_seen_at("/admin/") == "UTC"
