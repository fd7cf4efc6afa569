"""The pages of replays: what was asked of past weather, and what it answered, to look at."""

from __future__ import annotations

from typing import Any, Final

from django.contrib import admin
from django.db.models import QuerySet
from django.http import HttpRequest
from django.utils.html import format_html, format_html_join

from properties.http.office_admin import ReadOnlyAdmin
from properties.http.office_columns import number_text
from scheduling.models import Replay
from scheduling.services.replays import state_of

TABLE: Final = (
    "<table><tr><th>Way of watering</th><th>Zones</th><th>Litres in a mean year</th>"
    "<th>Against the first</th></tr>{}</table>"
)
LINE: Final = "<tr>" + "<td>{}</td>" * 4 + "</tr>"


@admin.register(Replay)
class ReplayAdmin(ReadOnlyAdmin):
    list_display = ("created_at", "property", "answered_at")
    list_display_links = ("created_at", "property")
    list_select_related = ("property",)
    search_fields = ("property__name",)
    fields = ("property", "asked", "created_at", "answered_at", "outcome")
    readonly_fields = ("outcome",)

    def get_queryset(self, request: HttpRequest) -> QuerySet[Replay]:
        return super().get_queryset(request).defer("answer")

    @admin.display(description="Outcome")
    def outcome(self, replay: Replay) -> str:
        state = state_of(replay.answer)
        if state == "waiting":
            return "not answered yet"
        answer: dict[str, Any] = replay.answer or {}
        if state == "refused":
            return "refused: {detail} {remedy}".format(**answer["refusal"])
        return format_html(TABLE, format_html_join("", LINE, map(_cells, answer["variants"])))


def _cells(variant: dict[str, Any]) -> tuple[Any, ...]:
    replayed = [zone for zone in variant["zones"] if zone["problem"] is None]
    litres = [zone["years"]["litres"] for zone in replayed if zone["years"]["litres"]]
    years = len(litres[0]) if litres else 0
    total = sum(map(sum, litres)) / years if years else None
    difference = variant["difference"]
    return (
        variant["name"],
        f"{len(replayed)} of {len(variant['zones'])}",
        "" if total is None else number_text(total),
        difference["sentence"] if difference else "",
    )
