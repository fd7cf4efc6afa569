"""The pages of what controllers are set to."""

from __future__ import annotations

import calendar

from django.contrib import admin
from django.db.models import QuerySet
from django.http import HttpRequest
from django.utils.html import format_html_join

from audits.models import ProgramSetting, SettingProgram
from audits.selectors.program_settings import remarks_of
from properties.http.office_admin import ReadOnlyAdmin, RowsToSee


class ProgramsOfSetting(RowsToSee):
    model = SettingProgram
    fields = ("name", "days", "start_times", "zone_minutes")
    readonly_fields = ("days", "start_times", "zone_minutes")
    show_change_link = False
    verbose_name_plural = "programs"

    def get_queryset(self, request: HttpRequest) -> QuerySet[SettingProgram]:
        return super().get_queryset(request).prefetch_related("runs__zone")

    @admin.display(description="Days")
    def days(self, program: SettingProgram) -> str:
        if program.interval_days:
            return (
                "every day" if program.interval_days == 1 else f"every {program.interval_days} days"
            )
        return ", ".join(calendar.day_abbr[day] for day in program.weekdays)

    @admin.display(description="Starts")
    def start_times(self, program: SettingProgram) -> str:
        return ", ".join(program.starts)

    @admin.display(description="Zones")
    def zone_minutes(self, program: SettingProgram) -> str:
        runs = sorted(program.runs.all(), key=lambda run: run.zone.number)
        return format_html_join("", "{}: {} min<br>", ((run.zone, run.run_min) for run in runs))


@admin.register(ProgramSetting)
class ProgramSettingAdmin(ReadOnlyAdmin):
    list_display = (
        "controller__property", "controller", "source", "since", "seasonal_percent",
        "clock_is_right", "battery_is_good",
    )  # fmt: skip
    list_display_links = ("controller__property", "controller")
    list_filter = ("source", "clock_is_right")
    list_select_related = ("controller__property",)
    date_hierarchy = "since"
    search_fields = ("controller__name", "controller__property__name")
    inlines = (ProgramsOfSetting,)
    fields = (
        "controller", "visit", "source", "since", "seasonal_percent", "clock_is_right",
        "battery_is_good", "created_at", "remarks",
    )  # fmt: skip
    readonly_fields = ("remarks",)

    @admin.display(description="What is wrong")
    def remarks(self, setting: ProgramSetting) -> str:
        told = [(one.sentence, one.effect, one.remedy) for one in remarks_of(setting)]
        return format_html_join("", "<p>{} {} {}</p>", told) or "Nothing that is known."
