"""The pages of reminders and their rules."""

from __future__ import annotations

import datetime as dt
from typing import Any, ClassVar
from zoneinfo import ZoneInfo

from django.contrib import admin
from django.db.models import QuerySet
from django.http import HttpRequest
from django.utils import timezone

from properties.http.office_admin import ReadOnlyAdmin, RowAdmin, staff_of, try_each
from properties.models import Row
from properties.selectors.company import company_units, the_company
from scheduling.models import Reminder, ReminderRule
from scheduling.selectors.reminders import line_of, with_names
from scheduling.services.reminder_rules import change_rule
from scheduling.services.reminders import resume, snooze, stop


@admin.register(Reminder)
class ReminderAdmin(ReadOnlyAdmin):
    list_display = (
        "whose", "kind", "what", "audience", "due_date", "state", "snoozed_until", "told",
    )  # fmt: skip
    list_filter = ("state", "audience", "kind")
    search_fields = ("property__name", "staff__name", "what")
    date_hierarchy = "due_date"
    fields = (
        "sentence", "kind", "audience", "property", "staff", "visit", "ticket", "licence",
        "controller", "due_date", "since", "state", "snoozed_until", "told", "told_on",
        "created_at", "key",
    )  # fmt: skip
    readonly_fields = ("sentence",)
    actions = ("snooze_for_a_week", "snooze_for_a_month", "stop_telling", "open_again")

    def get_queryset(self, request: HttpRequest) -> QuerySet[Any]:
        rows: QuerySet[Any] = with_names(super().get_queryset(request))
        return rows

    @admin.display(description="About")
    def whose(self, reminder: Reminder) -> str:
        return str(reminder.property or reminder.staff)

    @admin.display(description="Reminder")
    def sentence(self, reminder: Reminder) -> str:
        return line_of(reminder, company_units())

    @admin.action(description="Let the chosen ones rest for a week")
    def snooze_for_a_week(self, request: HttpRequest, rows: QuerySet[Reminder]) -> None:
        _snooze(request, rows, 7)

    @admin.action(description="Let the chosen ones rest for a month")
    def snooze_for_a_month(self, request: HttpRequest, rows: QuerySet[Reminder]) -> None:
        _snooze(request, rows, 30)

    @admin.action(description="Stop telling the chosen ones")
    def stop_telling(self, request: HttpRequest, rows: QuerySet[Reminder]) -> None:
        who_and_when: Any = {"actor": staff_of(request), "now": timezone.now()}
        try_each(request, rows, lambda each: stop(each, **who_and_when), done="stopped")

    @admin.action(description="Open the chosen ones again")
    def open_again(self, request: HttpRequest, rows: QuerySet[Reminder]) -> None:
        who_and_when: Any = {"actor": staff_of(request), "now": timezone.now()}
        try_each(request, rows, lambda each: resume(each, **who_and_when), done="open again")


@admin.register(ReminderRule)
class ReminderRuleAdmin(RowAdmin):
    list_display = (
        "kind", "is_on", "to_office", "to_technician", "to_client", "after_days", "days_ahead",
        "repeat_days", "most_times",
    )  # fmt: skip
    fieldsets = (
        (None, {"fields": ("kind", "is_on", ("to_office", "to_technician", "to_client"))}),
        ("When", {"fields": (
            ("month", "day"), "after_days", "days_ahead", "repeat_days", "most_times",
        )}),
    )  # fmt: skip
    readonly_fields: ClassVar[tuple[str, ...]] = ("kind",)

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def change(self, row: Any, changes: dict[str, Any], **who_and_when: Any) -> Row:
        return change_rule(row, changes, read_revision=row.revision, **who_and_when)


def _snooze(request: HttpRequest, rows: QuerySet[Reminder], days: int) -> None:
    actor, now = staff_of(request), timezone.now()
    today = now.astimezone(ZoneInfo(the_company().time_zone)).date()
    until = today + dt.timedelta(days=days)
    try_each(
        request, rows,
        lambda each: snooze(each, until=until, today=today, actor=actor, now=now),
        done="rest",
    )  # fmt: skip
