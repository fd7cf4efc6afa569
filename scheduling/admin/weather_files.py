"""The pages of station files that were sent in: what became of each, to look at."""

from __future__ import annotations

from typing import Any, Final

from django.contrib import admin
from django.db.models import QuerySet
from django.http import HttpRequest
from django.utils.html import format_html, format_html_join

from properties.http.office_admin import ReadOnlyAdmin
from scheduling.models import WeatherFile
from scheduling.selectors.weather_files import failure_of, state_of, with_job
from scheduling.services.job_kinds import WEATHER_FILE
from scheduling.services.weather_files import counts_of

REFUSED: Final = ("line_number", "field", "detail", "remedy", "excerpt")
SPANS: Final = ("station_code", "first_date", "last_date", "days", "days_missing")


@admin.register(WeatherFile)
class WeatherFileAdmin(ReadOnlyAdmin):
    list_display = ("created_at", "name", "layout", "units", "outcome")
    list_display_links = ("name",)
    search_fields = ("name", "sha256")
    fields = (
        "name", "layout", "units", "size_bytes", "sha256", "created_at", "read_at", "outcome",
        "stations", "refused_lines",
    )  # fmt: skip
    readonly_fields = (
        "size_bytes", "sha256", "created_at", "read_at", "outcome", "stations", "refused_lines",
    )  # fmt: skip

    def get_queryset(self, request: HttpRequest) -> QuerySet[WeatherFile]:
        return with_job(super().get_queryset(request), kind=WEATHER_FILE)

    @admin.display(description="Outcome")
    def outcome(self, file: WeatherFile) -> str:
        if failure := failure_of(file):
            return f"failed: {failure['detail']} {failure['remedy']}"
        if file.read_at is None:
            return "being read" if state_of(file) == "reading" else "not read yet"
        counts = counts_of(file)
        if refusal := counts.get("refusal"):
            return f"refused: {refusal['detail']} {refusal['remedy']}"
        return (
            f"{counts['days_added']} days added, {counts['days_changed']} changed,"
            f" {counts['days_unchanged']} unchanged; {counts['lines_refused']} lines refused"
        )

    @admin.display(description="Stations")
    def stations(self, file: WeatherFile) -> str:
        return _table(SPANS, (file.report or {}).get("stations", []))

    @admin.display(description="Refused lines")
    def refused_lines(self, file: WeatherFile) -> str:
        return _table(REFUSED, (file.report or {}).get("refused", []))


def _table(names: tuple[str, ...], rows: list[dict[str, Any]]) -> str:
    if not rows:
        return "none"
    head = format_html_join("", "<th>{}</th>", ((name.replace("_", " "),) for name in names))
    line = "<tr>" + "<td>{}</td>" * len(names) + "</tr>"
    body = format_html_join("", line, (tuple(row[name] for name in names) for row in rows))
    return format_html("<table><tr>{}</tr>{}</table>", head, body)
