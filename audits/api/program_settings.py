"""What controllers are set to."""

from __future__ import annotations

from functools import cached_property
from typing import Any, ClassVar

from django.utils import timezone
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from audits.api.filters import ProgramSettingFilters
from audits.http.program_remarks import ProgramRemarkSerializer
from audits.models import ProgramSetting, SettingProgram, SettingRun, Visit
from audits.selectors.program_settings import remarks_of, with_programs
from audits.services.program_settings import MOST_PROGRAMS, record_program_setting
from properties.http.permissions import Access
from properties.http.serializers import RowSerializer, ScopedField, StrictSerializer
from properties.http.views import RowViewSet, staff_of
from properties.models import Controller, Zone
from properties.models.staff import ALL_STAFF


class SettingRunSerializer(StrictSerializer, serializers.ModelSerializer[SettingRun]):
    zone: ScopedField[Zone] = ScopedField(queryset=Zone.objects.all(), property_path="property")
    run_min = serializers.IntegerField(min_value=1, max_value=1440)

    class Meta:
        model = SettingRun
        fields = ("zone", "run_min")


class SettingProgramSerializer(StrictSerializer, serializers.ModelSerializer[SettingProgram]):
    weekdays = serializers.ListField(
        child=serializers.IntegerField(min_value=0, max_value=6), default=list, max_length=7,
        help_text="0 is Monday, 6 is Sunday; empty with interval_days.",
    )  # fmt: skip
    starts = serializers.ListField(
        child=serializers.TimeField(input_formats=["%H:%M"], format="%H:%M"),
        min_length=1, max_length=24,
    )  # fmt: skip
    runs = SettingRunSerializer(many=True)

    class Meta:
        model = SettingProgram
        fields = ("name", "weekdays", "interval_days", "starts", "runs")


class ProgramSettingSerializer(RowSerializer[ProgramSetting]):
    controller: ScopedField[Controller] = ScopedField(
        queryset=Controller.objects.all(), property_path="property"
    )
    visit: ScopedField[Visit] = ScopedField(
        queryset=Visit.objects.all(), property_path="property", required=False, allow_null=True
    )
    programs = SettingProgramSerializer(many=True, max_length=MOST_PROGRAMS)  # type: ignore[call-arg]
    remarks = serializers.SerializerMethodField(help_text="What is wrong with it, and its cure.")

    class Meta:
        model = ProgramSetting
        fields = (
            "id", "controller", "visit", "source", "since", "seasonal_percent", "clock_is_right",
            "battery_is_good", "programs", "remarks", "created_at",
        )  # fmt: skip
        read_only_fields = ("created_at",)

    @extend_schema_field(ProgramRemarkSerializer(many=True))
    def get_remarks(self, setting: ProgramSetting) -> list[dict[str, Any]]:
        told: list[dict[str, Any]] = self._remark_form.to_representation(list(remarks_of(setting)))
        return told

    @cached_property
    def _remark_form(self) -> Any:
        """Make the form once for all rows of a page."""
        return ProgramRemarkSerializer(many=True)


class ProgramSettingViewSet(RowViewSet[ProgramSetting]):
    access = Access(read=ALL_STAFF, write=ALL_STAFF)
    queryset = with_programs(ProgramSetting.objects.all())
    serializer_class = ProgramSettingSerializer
    property_path: ClassVar[str | None] = "controller__property"
    filterset_class = ProgramSettingFilters

    def perform_create(self, serializer: serializers.BaseSerializer[ProgramSetting]) -> None:
        values: dict[str, Any] = dict(serializer.validated_data)
        programs = values.pop("programs")
        serializer.instance = record_program_setting(
            values, programs, actor=staff_of(self.request), now=timezone.now()
        )
