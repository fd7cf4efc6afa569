"""The pages of watering districts, their rules and their drought stages."""

from __future__ import annotations

from typing import Any, Final

from django import forms
from django.contrib import admin
from django.db.models import QuerySet
from django.http import HttpRequest
from django.urls import reverse
from django.utils import timezone
from django.utils.html import format_html_join

from properties.domain.watering_rules_audience import Method, PropertyClass, WaterKind
from properties.domain.watering_rules_words import WEEKDAYS
from properties.http.office_admin import RowAdmin, RowsToSee, staff_of, try_each
from properties.models import (
    DroughtStage,
    Row,
    StagePeriod,
    WaterBudget,
    WateringDistrict,
    WateringRule,
)
from properties.models.watering_rules import choices_of
from properties.services.watering_districts import change_district, change_period, change_stage
from properties.services.watering_rules import add_rule, change_rule, switch_stage

WORD_LISTS: Final = {
    "property_classes": choices_of(PropertyClass),
    "only_methods": choices_of(Method),
    "exempt_methods": choices_of(Method),
    "only_waters": choices_of(WaterKind),
    "exempt_waters": choices_of(WaterKind),
}
HOUR_LISTS: Final = ("hours", "closed_hours")
ADDED_TO_DISTRICT: Final = (
    ("wateringrule", "a rule"),
    ("droughtstage", "a drought stage"),
    ("waterbudget", "a water budget"),
)


class HourListField(forms.CharField):
    """Ranges such as 00:00-10:00, with commas between; empty: none are named."""

    def prepare_value(self, value: Any) -> Any:
        return ", ".join(str(each) for each in value) if isinstance(value, list) else value

    def to_python(self, value: Any) -> Any:
        return str(value or "").replace(",", " ").split() or None

    def has_changed(self, initial: Any, data: Any) -> bool:
        return bool(self.to_python(self.prepare_value(initial)) != self.to_python(data))


class WeekdaysField(forms.TypedMultipleChoiceField):
    """Days of the week; none chosen names every day."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(
            choices=list(enumerate(WEEKDAYS)), coerce=int, empty_value=None,
            widget=forms.CheckboxSelectMultiple, **kwargs,
        )  # fmt: skip


class StagesOfDistrict(RowsToSee):
    model = DroughtStage
    fields = ("name", "replaces_usual", "is_retired")


class RulesOfDistrict(RowsToSee):
    model = WateringRule
    fields = ("name", "stage", "addresses", "last_digits", "clock", "first_date", "last_date")
    shown_with = ("stage",)


class BudgetsOfDistrict(RowsToSee):
    model = WaterBudget
    fields = ("name", "span", "factor", "special_factor", "first_date", "last_date")


class PeriodsOfStage(RowsToSee):
    model = StagePeriod
    fields = ("first_date", "last_date", "is_void")


@admin.register(WateringDistrict)
class WateringDistrictAdmin(RowAdmin):
    list_display = ("name", "source", "is_retired")
    list_filter = ("is_retired",)
    search_fields = ("name", "source")
    fields = ("name", "source", "source_address", "is_retired", "to_add")
    readonly_fields = ("to_add",)
    inlines = (StagesOfDistrict, RulesOfDistrict, BudgetsOfDistrict)

    @admin.display(description="Add to this district")
    def to_add(self, district: WateringDistrict) -> str:
        """Offer the pages on which this district is chosen already; none while it is new."""
        if district._state.adding:
            return "-"
        links = (
            (reverse(f"admin:properties_{kind}_add"), district.pk, label)
            for kind, label in ADDED_TO_DISTRICT
        )
        return format_html_join(" | ", '<a href="{}?district={}">{}</a>', links)

    def change(self, row: Any, changes: dict[str, Any], **who_and_when: Any) -> Row:
        return change_district(row, changes, read_revision=row.revision, **who_and_when)


@admin.register(DroughtStage)
class DroughtStageAdmin(RowAdmin):
    list_display = ("name", "district", "replaces_usual", "is_retired")
    list_select_related = ("district",)
    search_fields = ("name", "district__name")
    fields = ("district", "name", "replaces_usual", "is_retired")
    inlines = (PeriodsOfStage,)

    def change(self, row: Any, changes: dict[str, Any], **who_and_when: Any) -> Row:
        today = timezone.localdate()
        return change_stage(row, changes, on=today, read_revision=row.revision, **who_and_when)

    def get_readonly_fields(self, request: HttpRequest, obj: Any = None) -> Any:
        """A stage stays with its district: its rules are there."""
        fixed = ("district",) if obj else ()
        return (*super().get_readonly_fields(request, obj), *fixed)


@admin.register(StagePeriod)
class StagePeriodAdmin(RowAdmin):
    """Adding one switches the district to the stage; the one before it ends.

    Its days can be put right, and a last day ends it.
    """

    list_display = ("stage", "district", "first_date", "last_date", "is_void")
    list_filter = ("is_void",)
    list_select_related = ("stage__district",)
    search_fields = ("stage__name", "stage__district__name")
    fields = ("stage", "first_date", "last_date")
    actions = ("end_today",)

    def add(self, values: dict[str, Any], **who_and_when: Any) -> Row:
        period = switch_stage(values["stage"].district, **values, **who_and_when)
        assert period is not None
        return period

    def change(self, row: Any, changes: dict[str, Any], **who_and_when: Any) -> Row:
        return change_period(row, changes, read_revision=row.revision, **who_and_when)

    def get_readonly_fields(self, request: HttpRequest, obj: Any = None) -> Any:
        fixed = ("stage",) if obj else ()
        return (*super().get_readonly_fields(request, obj), *fixed)

    @admin.display(description="District", ordering="stage__district__name")
    def district(self, period: StagePeriod) -> str:
        return period.stage.district.name

    @admin.action(description="End the chosen stages: yesterday was their last day")
    def end_today(self, request: HttpRequest, rows: QuerySet[StagePeriod]) -> None:
        actor, now, today = staff_of(request), timezone.now(), timezone.localdate()
        districts = {row.stage.district for row in rows.select_related("stage__district")}
        try_each(
            request, districts,
            lambda each: switch_stage(each, None, first_date=today, actor=actor, now=now),
            done="back to the usual rules",
        )  # fmt: skip


@admin.register(WateringRule)
class WateringRuleAdmin(RowAdmin):
    list_display = (
        "name", "district", "stage", "addresses", "clock", "first_date", "last_date", "is_ban",
    )  # fmt: skip
    list_filter = ("district", "addresses", "clock", "is_ban")
    list_select_related = ("district", "stage")
    search_fields = ("name", "district__name")
    fieldsets = (
        (None, {"fields": ("district", "stage", "name", ("first_date", "last_date"))}),
        ("When in the year", {"fields": ("clock", ("from_day", "until_day"))}),
        ("For whom", {"fields": (
            ("addresses", "last_digits", "takes_no_number"), "property_classes",
            "only_methods", "exempt_methods", "only_waters", "exempt_waters",
        )}),
        ("Days, hours and how much", {"fields": (
            "is_ban", "weekdays", "hours", "closed_hours", ("minutes_cap", "depth_cap_mm"),
        )}),
        ("What is freed", {"fields": (
            ("planting_any_days", "planting_alternate_days", "planting_frees_hours"),
            ("treatment_depth_mm", "treatment_within_h"), ("test_runs", "test_run_cap_min"),
        )}),
    )  # fmt: skip

    def add(self, values: dict[str, Any], **who_and_when: Any) -> Row:
        return add_rule(values, **who_and_when)

    def change(self, row: Any, changes: dict[str, Any], **who_and_when: Any) -> Row:
        return change_rule(row, changes, read_revision=row.revision, **who_and_when)

    def get_readonly_fields(self, request: HttpRequest, obj: Any = None) -> Any:
        """A rule stays with its district: its makers do."""
        fixed = ("district",) if obj else ()
        return (*super().get_readonly_fields(request, obj), *fixed)

    def formfield_for_dbfield(self, db_field: Any, request: Any, **kwargs: Any) -> Any:
        said = {"required": False, "help_text": db_field.help_text}
        if db_field.name == "weekdays":
            return WeekdaysField(required=False, help_text="None chosen: every day.")
        if db_field.name in WORD_LISTS:
            return forms.MultipleChoiceField(
                choices=WORD_LISTS[db_field.name], widget=forms.CheckboxSelectMultiple, **said
            )
        if db_field.name in HOUR_LISTS:
            return HourListField(required=False, help_text="Such as 00:00-10:00, 19:00-24:00.")
        return super().formfield_for_dbfield(db_field, request, **kwargs)
