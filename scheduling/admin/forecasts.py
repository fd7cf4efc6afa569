"""The pages of forecasts, to look at: what came, what it says of each day, how fetching goes."""

from __future__ import annotations

from typing import Any

from django.contrib import admin
from django.db.models import QuerySet
from django.http import HttpRequest

from properties.http.office_admin import ReadOnlyAdmin
from properties.http.office_columns import measured
from scheduling.admin.weather import ET0, RAIN, TMAX, TMIN
from scheduling.models import ForecastDay, ForecastDocument, ForecastFetch

COLUMNS = (
    TMIN, TMAX, RAIN, measured("rain_probability_percent", "Chance of rain [%]"), ET0,
)  # fmt: skip
MORE = (
    measured("humidity_percent"), measured("wind_m_s"),
    measured("solar_mj_m2", "Solar radiation [MJ/m2]"),
    measured("provider_et0_mm", "ET0 of the provider [mm]"),
)  # fmt: skip


@admin.register(ForecastDay)
class ForecastDayAdmin(ReadOnlyAdmin):
    list_display = ("date", "station", *COLUMNS)
    list_filter = ("station",)
    list_select_related = ("station",)
    date_hierarchy = "date"
    ordering = ("-date", "station")
    show_full_result_count = False
    fields = ("station", "date", "document", *COLUMNS, *MORE)
    readonly_fields = (*COLUMNS, *MORE)


@admin.register(ForecastDocument)
class ForecastDocumentAdmin(ReadOnlyAdmin):
    list_display = ("issued_at", "station", "style", "retrieved_at")
    list_filter = ("station", "style")
    list_select_related = ("station",)
    show_full_result_count = False
    fields = ("station", "style", "issued_at", "retrieved_at", "digest", "body")

    def get_queryset(self, request: HttpRequest) -> QuerySet[Any]:
        """Leave the bodies where they are until one is looked at."""
        rows: QuerySet[Any] = super().get_queryset(request).defer("body")
        return rows


@admin.register(ForecastFetch)
class ForecastFetchAdmin(ReadOnlyAdmin):
    list_display = ("station", "tried_at", "succeeded_at", "failures", "problem")
    list_select_related = ("station",)
    fields = ("station", "tried_at", "succeeded_at", "failures", "problem")
