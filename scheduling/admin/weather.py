"""The pages of weather stations and of what they observed."""

from __future__ import annotations

from typing import Any, Final

from django.contrib import admin
from django.db.models import Count, Max, QuerySet
from django.http import HttpRequest

from properties.http.office_admin import ReadOnlyAdmin, RowAdmin
from properties.http.office_columns import measured
from scheduling.models import WeatherDay, WeatherStation

TMIN: Final = measured("tmin_c", "Lowest [degC]")
TMAX: Final = measured("tmax_c", "Highest [degC]")
RAIN: Final = measured("rain_mm")
ET0: Final = measured("et0_mm", "ET0 [mm]")
DEW_POINT: Final = measured("dew_point_c", "Dew point [degC]")
HUMIDITY: Final = measured("humidity_percent", "Humidity [%]")
PLACE: Final = (
    "code", "latitude", "longitude", "elevation_m", "anemometer_height_m", "is_coastal",
)  # fmt: skip
WIND: Final = measured("wind_m_s")
SUN: Final = measured("solar_mj_m2", "Sun [MJ/m2]")


@admin.register(WeatherStation)
class WeatherStationAdmin(RowAdmin):
    list_display = (
        "code", "name", "latitude", "longitude", measured("elevation_m"), "day_count", "last_day",
    )  # fmt: skip
    search_fields = ("code", "name")
    fields = (
        "code",
        "name",
        ("latitude", "longitude"),
        "elevation_m",
        "anemometer_height_m",
        "is_coastal",
    )

    def get_queryset(self, request: HttpRequest) -> QuerySet[Any]:
        rows = super().get_queryset(request)
        counted: QuerySet[Any] = rows.annotate(
            days_kept=Count("days"), newest_date=Max("days__date")
        )
        return counted

    def get_readonly_fields(self, request: HttpRequest, obj: Any = None) -> Any:
        """The code and the place stay: the stored days came by the one, their ET0 by the other."""
        fixed = PLACE if obj else ()
        return (*super().get_readonly_fields(request, obj), *fixed)

    @admin.display(description="Days", ordering="days_kept")
    def day_count(self, station: Any) -> int:
        return int(station.days_kept)

    @admin.display(description="Last day", ordering="newest_date")
    def last_day(self, station: Any) -> Any:
        return station.newest_date


@admin.register(WeatherDay)
class WeatherDayAdmin(ReadOnlyAdmin):
    list_display = ("date", "station", TMIN, TMAX, RAIN, ET0, "et0_method", "from_analysis")
    list_filter = ("station",)
    list_select_related = ("station",)
    date_hierarchy = "date"
    ordering = ("-date", "station")
    show_full_result_count = False
    fields = (
        "station", "date", TMIN, TMAX, RAIN, DEW_POINT, HUMIDITY, WIND, SUN, ET0, "et0_method",
        "from_analysis",
    )  # fmt: skip
    readonly_fields = (TMIN, TMAX, RAIN, DEW_POINT, HUMIDITY, WIND, SUN, ET0, "from_analysis")

    @admin.display(description="From an analysis")
    def from_analysis(self, day: WeatherDay) -> str:
        return ", ".join(day.analysed_names()) or "nothing"
