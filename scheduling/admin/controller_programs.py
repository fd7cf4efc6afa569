"""The pages of fitted programs: what to type in, to look at."""

from __future__ import annotations

from typing import Final

from django.contrib import admin
from django.utils import timezone
from django.utils.html import format_html

from properties.http.office_admin import ReadOnlyAdmin
from properties.selectors.company import company_units
from scheduling.domain.program_table_text import table_text
from scheduling.models import ControllerProgram
from scheduling.selectors.program_tables import program_table
from scheduling.selectors.weather_outlook import local_date

TABLE: Final = "<pre>{}</pre>"


@admin.register(ControllerProgram)
class ControllerProgramAdmin(ReadOnlyAdmin):
    list_display = (
        "controller__property", "controller", "number", "style", "month", "cost", "changed_at",
    )  # fmt: skip
    list_display_links = ("controller__property", "controller")
    list_filter = ("style",)
    list_select_related = ("controller__property",)
    search_fields = ("controller__name", "controller__property__name")
    fields = ("controller", "number", "style", "to_type_in", "month", "cost", "gap", "changed_at")
    readonly_fields = ("to_type_in",)

    @admin.display(description="To type in")
    def to_type_in(self, row: ControllerProgram) -> str:
        if not row.months:
            return "Fitted for a single month: have the controller fitted anew."
        today, units = local_date(row.controller.property, timezone.now()), company_units()
        table = program_table(row, month=today.month, on=today, units=units)
        return format_html(TABLE, table_text(table, units))
