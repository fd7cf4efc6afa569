"""The pages of what districts grant a landscape."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib import admin
from django.http import HttpRequest

from properties.http.office_admin import RowAdmin
from properties.models import Row, WaterBudget
from properties.models.watering_rules import PROPERTY_CLASSES
from properties.services.water_budgets import change_budget


@admin.register(WaterBudget)
class WaterBudgetAdmin(RowAdmin):
    list_display = (
        "name", "district", "span", "factor", "special_factor", "first_date", "last_date",
    )  # fmt: skip
    list_filter = ("district", "span")
    list_select_related = ("district",)
    search_fields = ("name", "district__name", "source")
    fieldsets = (
        (None, {"fields": ("district", "name", "source", ("first_date", "last_date"))}),
        ("For whom", {"fields": ("property_classes",)}),
        ("How much", {"fields": (
            "span", ("factor", "special_factor"), "rain_part", "gallons_per_inch_ft2",
        )}),
        ("Estimated use", {"fields": (("overhead_efficiency", "drip_efficiency"),)}),
    )  # fmt: skip

    def change(self, row: Any, changes: dict[str, Any], **who_and_when: Any) -> Row:
        return change_budget(row, changes, read_revision=row.revision, **who_and_when)

    def get_readonly_fields(self, request: HttpRequest, obj: Any = None) -> Any:
        """An allowance stays with its district: its makers do."""
        fixed = ("district",) if obj else ()
        return (*super().get_readonly_fields(request, obj), *fixed)

    def formfield_for_dbfield(self, db_field: Any, request: Any, **kwargs: Any) -> Any:
        if db_field.name == "property_classes":
            return forms.MultipleChoiceField(
                choices=PROPERTY_CLASSES, widget=forms.CheckboxSelectMultiple,
                required=False, help_text="None chosen: every class.",
            )  # fmt: skip
        return super().formfield_for_dbfield(db_field, request, **kwargs)
