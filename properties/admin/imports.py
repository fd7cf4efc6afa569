"""The pages of spreadsheets that the office brings in: send, read the report, write or cancel."""

from __future__ import annotations

from typing import Any, Final

from django import forms
from django.contrib import admin
from django.db.models import QuerySet
from django.http import HttpRequest
from django.urls import reverse
from django.utils import timezone
from django.utils.html import format_html, format_html_join

from properties.domain.spreadsheet_columns import Kind
from properties.http.office_admin import OfficeAdmin, staff_of, try_each
from properties.http.office_forms import OfficeForm
from properties.models import Import
from properties.models.company import UNIT_SYSTEMS
from properties.models.imports import Outcome
from properties.selectors.imports import failure_of, with_job
from properties.services.imports import LOOK, WRITE, ask_to_write, cancel_import, keep_import

_SHOWN: Final = 200
_FAULT: Final = ("cell", "column", "detail", "remedy")
_UNSAID: Final = [("", "as the headings say")]


class ImportForm(OfficeForm):
    file = forms.FileField(help_text="A CSV file, in any of the usual encodings.")
    units = forms.ChoiceField(choices=[*_UNSAID, *UNIT_SYSTEMS], required=False)
    headings = forms.JSONField(
        required=False, initial=dict,
        help_text='What a heading of yours stands for: {"Kd-Nr": "Reference"}.',
    )  # fmt: skip
    ignores_unknown = forms.BooleanField(
        required=False, label="Leave out columns whose heading nobody knows"
    )
    takes_alike = forms.BooleanField(
        required=False, label="Take rows whose contact or address another row has"
    )
    clears_blank = forms.BooleanField(required=False, label="Blank cells empty their field")

    class Meta:
        model = Import
        fields = ("kind",)

    def said(self) -> dict[str, Any]:
        """Return what was said of the file, what was left open not among it."""
        return {name: self.cleaned_data[name] for name in _SAID if self.cleaned_data.get(name)}


_SAID: Final = ("units", "headings", "ignores_unknown", "takes_alike", "clears_blank")


@admin.register(Import)
class ImportAdmin(OfficeAdmin):
    form = ImportForm
    list_display = ("created_at", "name", "kind", "state", "outcome")
    list_display_links = ("name",)
    list_filter = ("kind", "state")
    search_fields = ("name", "sha256")
    actions = ("write_all", "write_good_rows", "cancel")

    def get_queryset(self, request: HttpRequest) -> QuerySet[Import]:
        return with_job(super().get_queryset(request), kinds=(LOOK, WRITE))

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def get_fields(self, request: HttpRequest, obj: Any = None) -> Any:
        if obj is None:
            return ("kind", "file", *_SAID)
        return (
            "name", "kind", "state", "outcome", "how_read", "faults", "whole_report",
            "size_bytes", "created_at", "looked_at_at", "ended_at",
        )  # fmt: skip

    def get_readonly_fields(self, request: HttpRequest, obj: Any = None) -> Any:
        return self.get_fields(request, obj) if obj else ()

    def save_model(self, request: HttpRequest, obj: Any, form: Any, change: bool) -> None:
        file = form.cleaned_data["file"]
        sheet, _ = keep_import(
            file, kind=Kind(form.cleaned_data["kind"]), name=file.name, said=form.said(),
            actor=staff_of(request), now=timezone.now(),
        )  # fmt: skip
        obj.pk = sheet.pk
        obj._state.adding = False

    @admin.display(description="Outcome")
    def outcome(self, sheet: Import) -> str:
        if failure := failure_of(sheet):
            return f"failed: {failure['detail']} {failure['remedy']}"
        report = sheet.report or {}
        if refusal := report.get("refusal"):
            return f"refused: {refusal['detail']} {refusal['remedy']}"
        if not report:
            return f"{sheet.rows_done} of {sheet.rows or '?'} rows looked at"
        counts = ", ".join(f"{report[name]:,} {name}" for name in Outcome.values)
        return f"{counts}; {report['faults']:,} faults"

    @admin.display(description="How it was read")
    def how_read(self, sheet: Import) -> str:
        found = (sheet.report or {}).get("found", {})
        rows = [*((name, found[name]) for name in found if name != "columns")]
        rows += list(found.get("columns", {}).items())
        return format_html_join("", "<div>{}: {}</div>", rows) if rows else "not yet"

    @admin.display(description="Faults")
    def faults(self, sheet: Import) -> str:
        lines = sheet.lines.filter(outcome=Outcome.REFUSED).order_by("row")[:_SHOWN]
        faults = [fault for line in lines for fault in line.faults][:_SHOWN]
        if not faults:
            return "none"
        head = format_html_join("", "<th>{}</th>", ((name,) for name in _FAULT))
        line = "<tr>" + "<td>{}</td>" * len(_FAULT) + "</tr>"
        cells = (tuple(fault[name] for name in _FAULT) for fault in faults)
        return format_html("<table><tr>{}</tr>{}</table>", head, format_html_join("", line, cells))

    @admin.display(description="Whole report")
    def whole_report(self, sheet: Import) -> str:
        return f"GET {reverse('import-report', args=[sheet.pk])} returns every row as CSV."

    @admin.action(description="Write the chosen imports, each as a whole", permissions=["view"])
    def write_all(self, request: HttpRequest, rows: QuerySet[Import]) -> None:
        self._write(request, rows, only_good_rows=False)

    @admin.action(
        description="Write the good rows of the chosen imports alone", permissions=["view"]
    )
    def write_good_rows(self, request: HttpRequest, rows: QuerySet[Import]) -> None:
        self._write(request, rows, only_good_rows=True)

    @admin.action(description="Cancel the chosen imports", permissions=["view"])
    def cancel(self, request: HttpRequest, rows: QuerySet[Import]) -> None:
        actor, now = staff_of(request), timezone.now()
        try_each(
            request, rows, lambda sheet: cancel_import(sheet, actor=actor, now=now),
            done="cancelled",
        )  # fmt: skip

    def _write(self, request: HttpRequest, rows: QuerySet[Import], *, only_good_rows: bool) -> None:
        actor, now = staff_of(request), timezone.now()
        try_each(
            request, rows,
            lambda sheet: ask_to_write(
                sheet, only_good_rows=only_good_rows, actor=actor, now=now
            ),
            done="will be written",
        )  # fmt: skip
