"""The office reads its pages by the company's clock; rows and the API stay in UTC."""

from __future__ import annotations

import zoneinfo
from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone

from properties.models import Company


class CompanyClock:
    """Shows the times of the office pages in the company's time zone."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if not request.path.startswith(reverse("admin:index")):
            return self.get_response(request)
        company = Company.objects.first()
        with timezone.override(zoneinfo.ZoneInfo(company.time_zone) if company else None):
            return self.get_response(request)
