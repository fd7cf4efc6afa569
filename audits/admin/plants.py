"""The pages of symptoms and treatments: facts, to look at."""

from __future__ import annotations

from typing import Final

from django.contrib import admin

from audits.models import PlantSymptom, Treatment
from properties.http.office_admin import ReadOnlyAdmin
from properties.http.office_columns import measured

AT_MOST: Final = measured("at_most_mm")


@admin.register(PlantSymptom)
class PlantSymptomAdmin(ReadOnlyAdmin):
    list_display = ("seen_at", "zone__property", "zone", "kind", "spot")
    list_filter = ("kind", "spot")
    list_select_related = ("zone__property",)
    date_hierarchy = "seen_at"
    search_fields = ("zone__name", "zone__property__name", "note")
    fields = ("visit", "zone", "kind", "spot", "note", "seen_at")


@admin.register(Treatment)
class TreatmentAdmin(ReadOnlyAdmin):
    list_display = (
        "applied_at", "property", "zone", "kind", AT_MOST, "until", "label", "is_called_off",
    )  # fmt: skip
    list_filter = ("kind", "is_called_off")
    list_select_related = ("property", "zone")
    date_hierarchy = "applied_at"
    search_fields = ("property__name", "zone__name", "label")
    readonly_fields = (AT_MOST,)
    fields = (
        "property", "zone", "visit", "kind", "label", "applied_at", "until", AT_MOST,
        "is_called_off",
    )  # fmt: skip
