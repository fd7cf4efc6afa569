"""The pages of the company's memory and of its background work."""

from __future__ import annotations

import json
import textwrap
import uuid
from typing import Any, Final

from django.contrib import admin
from django.db.models import QuerySet
from django.http import HttpRequest
from django.utils import timezone
from django.utils.html import format_html, format_html_join

from properties.http.office_admin import ReadOnlyAdmin, staff_of, try_each
from properties.http.office_columns import subject_link
from properties.models import Event, Job
from properties.services.jobs import requeue

CELL_CHARS: Final = 200


class BySubject(ReadOnlyAdmin):
    """Rows about a subject, found by the subject's id."""

    search_fields = ("subject_id",)
    search_help_text = "The id of a row (it stands in the address of the row's page)."
    show_full_result_count = False

    def get_search_results(
        self, request: HttpRequest, queryset: QuerySet[Any], search_term: str
    ) -> tuple[QuerySet[Any], bool]:
        if not search_term:
            return queryset, False
        try:
            return queryset.filter(subject_id=uuid.UUID(search_term)), False
        except ValueError:
            return queryset.none(), False


@admin.register(Event)
class EventAdmin(BySubject):
    list_display = ("at", "act", "subject", "actor")
    list_filter = ("act", "subject_kind")
    list_select_related = ("actor",)
    fields = ("at", "actor", "device", "act", "subject", "subject_id", "changes")
    readonly_fields = ("subject", "changes")

    @admin.display(description="Subject")
    def subject(self, event: Event) -> str:
        return subject_link(event.subject_kind, event.subject_id)

    @admin.display(description="What changed")
    def changes(self, event: Event) -> str:
        names = sorted(event.before.keys() | event.after.keys())
        rows = [(name, _cell(event.before, name), _cell(event.after, name)) for name in names]
        lines = format_html_join("", "<tr><td>{}</td><td>{}</td><td>{}</td></tr>", rows)
        head = "<table><tr><th>Field</th><th>Before</th><th>After</th></tr>{}</table>"
        return format_html(head, lines) if rows else "-"


@admin.register(Job)
class JobAdmin(BySubject):
    list_display = ("kind", "state", "attempts", "why", "created_at", "ended_at")
    list_filter = ("state", "kind")
    fields = (
        "kind", "subject_id", "asked_by", "state", "attempts", "created_at", "due_at",
        "claimed_until", "ended_at", "result", "problem",
    )  # fmt: skip
    actions = ("run_again",)

    @admin.display(description="Problem")
    def why(self, job: Job) -> str:
        return str(job.problem.get("detail", ""))

    @admin.action(description="Run the chosen parked jobs again")
    def run_again(self, request: HttpRequest, rows: QuerySet[Job]) -> None:
        actor, now = staff_of(request), timezone.now()
        try_each(
            request, rows, lambda job: requeue(job, actor=actor, now=now),
            done="wait to be run again",
        )  # fmt: skip


def _cell(values: dict[str, Any], name: str) -> str:
    value = values.get(name, "")
    text = value if isinstance(value, str) else json.dumps(value)
    return textwrap.shorten(text, CELL_CHARS, placeholder=" ...")
