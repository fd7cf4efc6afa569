"""Reminders and their rules: the office's list."""

from __future__ import annotations

from typing import Any
from zoneinfo import ZoneInfo

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from properties.http.changes import ChangesRows
from properties.http.permissions import Access
from properties.http.serializers import RowSerializer, StrictSerializer
from properties.http.views import ReadViewSet, staff_of
from properties.models.staff import OFFICE_ONLY
from properties.selectors.company import the_company
from scheduling.api.filters import REMINDER_ORDERS, ReminderFilters, ReminderRuleFilters
from scheduling.models import Reminder, ReminderRule
from scheduling.selectors.reminders import line_of, with_names
from scheduling.services.reminder_rules import change_rule
from scheduling.services.reminders import resume, snooze, stop

_SETTABLE = (
    "is_on", "to_office", "to_technician", "to_client", "after_days", "days_ahead", "repeat_days",
    "most_times", "month", "day",
)  # fmt: skip


class ReminderSerializer(RowSerializer[Reminder]):
    sentence = serializers.SerializerMethodField(help_text="What it says, in one sentence.")

    class Meta:
        model = Reminder
        fields = (
            "id", "kind", "audience", "sentence", "property", "staff", "visit", "ticket", "licence",
            "controller", "due_date", "since", "what", "state", "snoozed_until", "told", "told_on",
            "created_at", "changed_at", "revision",
        )  # fmt: skip
        read_only_fields = fields

    def get_sentence(self, reminder: Reminder) -> str:
        return line_of(reminder, self.context["units"])


class SnoozeSerializer(StrictSerializer):
    until = serializers.DateField(help_text="A day of the company's clock, on which it is told.")


class ReminderViewSet(ReadViewSet[Reminder]):
    """What is to be seen to; it is done by itself when its cause is gone."""

    access = Access(read=OFFICE_ONLY, write=OFFICE_ONLY)
    queryset = with_names(Reminder.objects.all())
    serializer_class = ReminderSerializer
    filterset_class = ReminderFilters
    orders = REMINDER_ORDERS

    @extend_schema(request=SnoozeSerializer, responses=ReminderSerializer)
    @action(detail=True, methods=["post"])
    def snooze(self, request: Request, pk: str) -> Response:
        """Let it rest until a day."""
        reminder, sent = self.get_object(), SnoozeSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        now = timezone.now()
        today = now.astimezone(ZoneInfo(the_company().time_zone)).date()
        until = sent.validated_data["until"]
        return self._answer(
            snooze(reminder, until=until, today=today, actor=staff_of(request), now=now)
        )

    @extend_schema(request=None, responses=ReminderSerializer)
    @action(detail=True, methods=["post"])
    def stop(self, request: Request, pk: str) -> Response:
        """Tell it no more, though its cause stays."""
        return self._answer(stop(self.get_object(), actor=staff_of(request), now=timezone.now()))

    @extend_schema(request=None, responses=ReminderSerializer)
    @action(detail=True, methods=["post"])
    def resume(self, request: Request, pk: str) -> Response:
        """Open again what was stopped or snoozed."""
        return self._answer(resume(self.get_object(), actor=staff_of(request), now=timezone.now()))

    def _answer(self, reminder: Reminder) -> Response:
        content: dict[str, Any] = self.get_serializer(reminder).data
        return Response(content)


class ReminderRuleSerializer(RowSerializer[ReminderRule]):
    class Meta:
        model = ReminderRule
        fields = ("id", "kind", *_SETTABLE, "created_at", "changed_at", "revision")
        read_only_fields = ("id", "kind", "created_at", "changed_at", "revision")


class ReminderRuleViewSet(ChangesRows[ReminderRule], ReadViewSet[ReminderRule]):
    """When and to whom each kind is told: one rule a kind, made with its defaults."""

    access = Access(read=OFFICE_ONLY, write=OFFICE_ONLY)
    queryset = ReminderRule.objects.all()
    serializer_class = ReminderRuleSerializer
    filterset_class = ReminderRuleFilters
    change_service = staticmethod(change_rule)
