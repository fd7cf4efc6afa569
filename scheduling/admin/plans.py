"""The pages of watering plans: twelve months as a table, to look at."""

from __future__ import annotations

import calendar
from typing import Any, Final

from django.contrib import admin
from django.db.models import QuerySet
from django.http import HttpRequest
from django.utils.html import format_html, format_html_join

from properties.http.office_admin import ReadOnlyAdmin
from properties.http.office_columns import number_text
from scheduling.models import WateringPlan

TABLE: Final = (
    "<table><tr><th>Month</th><th>Waters</th><th>Minutes a day</th><th>Cycles</th>"
    "<th>Soak [min]</th><th>Applied a week [mm]</th></tr>{}</table>"
)
LINE: Final = "<tr>" + "<td>{}</td>" * 6 + "</tr>"


@admin.register(WateringPlan)
class WateringPlanAdmin(ReadOnlyAdmin):
    list_display = ("zone__property", "zone", "number", "is_estimated", "created_at")
    list_display_links = ("zone__property", "zone")
    list_filter = ("is_estimated", "zone__plant_type")
    list_select_related = ("zone__property",)
    search_fields = ("zone__name", "zone__property__name")
    fields = ("zone", "number", "is_estimated", "test", "station", "created_at", "season")
    readonly_fields = ("season",)

    def get_queryset(self, request: HttpRequest) -> QuerySet[WateringPlan]:
        return super().get_queryset(request).select_related("zone__property")

    @admin.display(description="Season")
    def season(self, plan: WateringPlan) -> str:
        return format_html(TABLE, format_html_join("", LINE, map(_cells, plan.months)))


def _cells(month: dict[str, Any]) -> tuple[Any, ...]:
    name = calendar.month_name[month["month"]]
    if not month["minutes"]:
        return (name, "not", "", "", "", "")
    times = month["waterings_per_day"]
    return (
        name,
        _rhythm(month),
        month["minutes"] * times,
        f"{month['cycles'] * times} x {month['cycle_min']} min",
        month["soak_min"] or "",
        number_text(month["weekly_gross_mm"]),
    )


def _rhythm(month: dict[str, Any]) -> str:
    if month["weekdays"]:
        return ", ".join(calendar.day_abbr[day] for day in month["weekdays"])
    days = month["days_between"]
    return "every day" if days == 1 else f"every {days} days"
