"""The page of how fetching observed days goes, to look at."""

from __future__ import annotations

from django.contrib import admin

from properties.http.office_admin import ReadOnlyAdmin
from scheduling.models import ObservationFetch

TOLD = (
    "tried_at", "succeeded_at", "failures", "days_added", "days_corrected", "corrections",
    "problem",
)  # fmt: skip


@admin.register(ObservationFetch)
class ObservationFetchAdmin(ReadOnlyAdmin):
    list_display = ("station", *TOLD)
    list_select_related = ("station",)
    fields = ("station", *TOLD)
