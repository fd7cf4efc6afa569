"""The pages of zones, with the heads in them."""

from __future__ import annotations

from typing import Any, Final

from django import forms
from django.contrib import admin
from django.core.exceptions import ValidationError
from django.db.models import QuerySet
from django.http import HttpRequest

from properties.http.office_admin import RowAdmin, RowInline
from properties.http.office_columns import measured
from properties.http.office_forms import PlacedChoiceField, of_asked_property
from properties.models import Controller, HeadGroup, Row, Zone
from properties.models.zones import MONTHS
from properties.services.zones import add_zone


class MonthsField(forms.CharField):
    """Twelve numbers, January to December, or one for the whole year."""

    def prepare_value(self, value: Any) -> Any:
        return ", ".join(f"{depth:g}" for depth in value) if isinstance(value, list) else value

    def to_python(self, value: Any) -> Any:
        try:
            depths = [float(part) for part in str(value or "").replace(",", " ").split()]
        except ValueError as error:
            raise ValidationError("Give numbers, such as 150, 150, 180.") from error
        return (depths * MONTHS if len(depths) == 1 else depths) or None

    def has_changed(self, initial: Any, data: Any) -> bool:
        try:
            given = self.prepare_value(self.to_python(data))
        except ValidationError:
            return True
        return bool(given != self.prepare_value(initial))


MONTHLY: Final = {"root_depths_mm": "Root depths [mm]", "plant_factors": "Plant factors"}


class HeadGroupsOfZone(RowInline):
    model = HeadGroup
    fields = (
        "name", "kind", "count", "rated_flow_l_min", "rated_pressure_kpa", "arc_deg", "throw_m",
        "emitter_spacing_m", "lateral_spacing_m", "wetted_part", "position", "tap",
        "wetted_area_m2", "read_revision",
    )  # fmt: skip


@admin.register(Zone)
class ZoneAdmin(RowAdmin):
    list_display = (
        "__str__", "property", measured("area_m2"), "head_kind", "plant_type",
        "soil_texture", "is_active",
    )  # fmt: skip
    list_filter = ("plant_type", "soil_texture", "head_kind", "is_active")
    list_select_related = ("property",)
    search_fields = ("name", "property__name", "property__street", "property__customer__name")
    ordering = ("property__name", "number")
    autocomplete_fields = ("property",)
    inlines = (HeadGroupsOfZone,)
    fieldsets = (
        (None, {"fields": (
            "property", "controller", ("number", "name"), "reference", "area_m2",
            ("head_kind", "head_spacing_m"), "is_active",
        )}),
        ("Paving", {"fields": (
            "is_bounded_by_paving", ("strip_width_m", "least_paving_gap_m"),
        )}),
        ("Plants", {"fields": (
            ("plant_type", "planting_date"), ("plant_factor", "water_use"), "plant_factors",
            ("density_factor", "quality_factor"), "is_special_landscape",
            ("dormant_from", "dormant_until"), ("overseeded_from", "overseeded_until"),
            "root_depths_mm", "allowed_depletion",
        )}),
        ("Soil", {"fields": (
            ("soil_texture", "slope_percent"), ("available_mm_m", "intake_mm_h"),
            "accumulation_mm",
        )}),
        ("Sun", {
            "fields": (("exposure", "microclimate_factor"),),
            "description": "Give an exposure or a microclimate factor, one of them.",
        }),
        ("Days between waterings", {"fields": (("min_days_between", "max_days_between"),)}),
    )  # fmt: skip

    def add(self, values: dict[str, Any], **who_and_when: Any) -> Row:
        return add_zone(values, **who_and_when)

    def get_readonly_fields(self, request: HttpRequest, obj: Any = None) -> Any:
        """A zone stays at its property: its pipes do."""
        fixed = ("property",) if obj else ()
        return (*super().get_readonly_fields(request, obj), *fixed)

    def formfield_for_dbfield(self, db_field: Any, request: Any, **kwargs: Any) -> Any:
        if db_field.name not in MONTHLY:
            return super().formfield_for_dbfield(db_field, request, **kwargs)
        return MonthsField(
            required=False,
            label=MONTHLY[db_field.name],
            validators=db_field.validators,
            widget=forms.TextInput(attrs={"size": 80}),
            help_text="January to December, or one for all; empty: as usual for the plant type.",
        )

    def formfield_for_foreignkey(self, db_field: Any, request: HttpRequest, **kwargs: Any) -> Any:
        if db_field.name == "controller":
            kwargs |= {"form_class": PlacedChoiceField, "queryset": _controllers(request)}
        return super().formfield_for_foreignkey(db_field, request, **kwargs)


def _controllers(request: HttpRequest) -> QuerySet[Controller]:
    """Return the controllers of the zone's own property, as far as it is known yet."""
    rows = Controller.objects.select_related("property").order_by("property__name", "name")
    match = request.resolver_match
    if match is not None and "object_id" in match.kwargs:
        return rows.filter(property__zones=match.kwargs["object_id"])
    return of_asked_property(rows, request)
