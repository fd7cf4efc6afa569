"""The page of the one company."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib import admin
from django.http import HttpRequest

from properties.http.office_admin import RowAdmin
from properties.models import Company


class HolidaysField(forms.CharField):
    """Days such as 2026-12-25, with commas or line ends between; they are kept in order."""

    def prepare_value(self, value: Any) -> Any:
        return ", ".join(str(day) for day in value) if isinstance(value, list) else value

    def to_python(self, value: Any) -> Any:
        return sorted(str(value or "").replace(",", " ").split())

    def has_changed(self, initial: Any, data: Any) -> bool:
        return bool(self.to_python(self.prepare_value(initial)) != self.to_python(data))


@admin.register(Company)
class CompanyAdmin(RowAdmin):
    list_display = ("name", "units", "time_zone", "currency")
    fieldsets = (
        (None, {"fields": ("name", "contact_line", "units", "time_zone", "currency")}),
        ("Watering", {"fields": ("leaves_room_for_rain",)}),
        ("Notice before digging", {"fields": (
            ("digging_business_days", "digging_longest_days"), "holidays",
        )}),
    )  # fmt: skip

    def has_add_permission(self, request: HttpRequest) -> bool:
        return not Company.objects.exists()

    def formfield_for_dbfield(self, db_field: Any, request: Any, **kwargs: Any) -> Any:
        if db_field.name != "holidays":
            return super().formfield_for_dbfield(db_field, request, **kwargs)
        return HolidaysField(
            required=False,
            validators=db_field.validators,
            widget=forms.Textarea(attrs={"rows": 4, "cols": 60}),
            help_text="Days that are no business days, such as 2026-12-25, 2027-01-01.",
        )
