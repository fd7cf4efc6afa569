"""The pages of properties and controllers."""

from __future__ import annotations

from typing import Any, Final

from django.contrib import admin
from django.db.models import Count, QuerySet
from django.http import HttpRequest
from django.urls import reverse
from django.utils.html import format_html

from properties.http.office_admin import RowAdmin, RowsToSee
from properties.http.office_columns import measured
from properties.models import Controller, Property, Row, Zone
from properties.selectors.company import the_company
from properties.services.backflow_tests import refuse_test_to_come


class ControllersOfProperty(RowsToSee):
    model = Controller
    fields = ("name", "where", "program_count", "rain_sensor")


AREA: Final = measured("area_m2")


class ZonesToSee(RowsToSee):
    model = Zone
    fields = ("number", "name", AREA, "head_kind", "plant_type", "soil_texture", "is_active")
    readonly_fields = (AREA,)
    ordering = ("number",)


@admin.register(Property)
class PropertyAdmin(RowAdmin):
    list_display = ("name", "customer", "street", "city", "water_source", "zone_count")
    list_filter = ("water_source", "may_change_program", "city")
    list_select_related = ("customer",)
    search_fields = ("name", "street", "city", "postal_code", "customer__name")
    autocomplete_fields = ("customer",)
    readonly_fields = ("add_here",)
    inlines = (ControllersOfProperty, ZonesToSee)
    fieldsets = (
        (None, {"fields": ("customer", "name", "reference", "add_here")}),
        ("Where", {"fields": (
            "street", ("city", "region", "postal_code"), ("latitude", "longitude", "elevation_m"),
            "time_zone",
        )}),
        ("Water", {"fields": (
            "water_source", ("static_pressure_kpa", "available_flow_l_min"),
            ("meter_error_percent", "water_price_per_m3"), "backflow_tested_on",
        )}),
        ("Watering rules", {"fields": (
            "watering_district", ("property_class", "house_number"),
        )}),
        ("Access", {"fields": (
            "access_notes", "animals", "somebody_must_be_home", "may_change_program",
        )}),
    )  # fmt: skip

    def get_queryset(self, request: HttpRequest) -> QuerySet[Any]:
        rows = super().get_queryset(request)
        counted: QuerySet[Any] = rows.annotate(zones_here=Count("zones"))
        return counted

    def get_changeform_initial_data(self, request: HttpRequest) -> dict[str, Any]:
        initial = {"time_zone": the_company().time_zone}
        return {**initial, **super().get_changeform_initial_data(request)}

    def add(self, values: dict[str, Any], **who_and_when: Any) -> Row:
        refuse_test_to_come(values, now=who_and_when["now"])
        return super().add(values, **who_and_when)

    def change(self, row: Any, changes: dict[str, Any], **who_and_when: Any) -> Row:
        refuse_test_to_come(changes, now=who_and_when["now"])
        return super().change(row, changes, **who_and_when)

    @admin.display(description="Zones", ordering="zones_here")
    def zone_count(self, row: Any) -> int:
        return int(row.zones_here)

    @admin.display(description="Add here")
    def add_here(self, row: Property) -> str:
        if row._state.adding:
            return "Save first; then controllers and zones can be added."
        return format_html(
            '<a href="{}?property={}">Controller</a> &middot; <a href="{}?property={}">Zone</a>',
            reverse("admin:properties_controller_add"), row.pk,
            reverse("admin:properties_zone_add"), row.pk,
        )  # fmt: skip


@admin.register(Controller)
class ControllerAdmin(RowAdmin):
    list_display = ("name", "property", "where", "program_count", "rain_sensor")
    list_filter = ("rain_sensor",)
    list_select_related = ("property",)
    search_fields = ("name", "where", "property__name", "property__customer__name")
    ordering = ("property__name", "name")
    autocomplete_fields = ("property",)
    inlines = (ZonesToSee,)
    fields = (
        "property", "name", "reference", "where", ("program_count", "starts_per_program"),
        ("minute_step", "longest_run_min"), ("can_weekdays", "can_odd_even", "interval_days"),
        ("most_percent", "percent_step"), "rain_sensor",
    )  # fmt: skip

    def get_readonly_fields(self, request: HttpRequest, obj: Any = None) -> Any:
        """A controller stays at its property: its zones are there."""
        fixed = ("property",) if obj else ()
        return (*super().get_readonly_fields(request, obj), *fixed)
