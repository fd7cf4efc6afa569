"""The pages of fitted programs: what to type in, to look at."""

from __future__ import annotations

from typing import Any, Final

from django.contrib import admin
from django.utils.html import format_html, format_html_join

from properties.http.office_admin import ReadOnlyAdmin
from scheduling.models import ControllerProgram

TABLE: Final = "<table><tr><th>Program</th><th>Days</th><th>Starts</th></tr>{}</table>"


@admin.register(ControllerProgram)
class ControllerProgramAdmin(ReadOnlyAdmin):
    list_display = ("controller__property", "controller", "number", "month", "cost", "created_at")
    list_display_links = ("controller__property", "controller")
    list_select_related = ("controller__property",)
    search_fields = ("controller__name", "controller__property__name")
    fields = ("controller", "number", "month", "cost", "gap", "typed", "not_met", "created_at")
    readonly_fields = ("typed", "not_met")

    @admin.display(description="To type in")
    def typed(self, row: ControllerProgram) -> str:
        lines = ((each["name"], each["days"], ", ".join(each["starts"])) for each in row.programs)
        cells = "<tr><td>{}</td><td>{}</td><td>{}</td></tr>"
        return format_html(TABLE, format_html_join("", cells, lines))

    @admin.display(description="Not met")
    def not_met(self, row: Any) -> str:
        return format_html_join(
            "", "<p>{} {}</p>", ((each["sentence"], each["cure"]) for each in row.unmet)
        )
