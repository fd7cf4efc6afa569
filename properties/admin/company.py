"""The page of the one company."""

from __future__ import annotations

from django.contrib import admin
from django.http import HttpRequest

from properties.http.office_admin import RowAdmin
from properties.models import Company


@admin.register(Company)
class CompanyAdmin(RowAdmin):
    list_display = ("name", "units", "time_zone", "currency")
    fields = ("name", "contact_line", "units", "time_zone", "currency")

    def has_add_permission(self, request: HttpRequest) -> bool:
        return not Company.objects.exists()
