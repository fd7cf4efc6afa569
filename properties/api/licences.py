"""The licences of technicians: kept by the office."""

from __future__ import annotations

from django.utils import timezone
from rest_framework import serializers

from properties.api.filters import LicenceFilters
from properties.http.changes import RetiresRows
from properties.http.permissions import Access
from properties.http.serializers import RowSerializer
from properties.http.views import RowViewSet, staff_of
from properties.models import Licence, StaffMember
from properties.models.staff import OFFICE_ONLY
from properties.services.licences import add_licence, change_licence


class LicenceSerializer(RowSerializer[Licence]):
    staff = serializers.PrimaryKeyRelatedField(
        queryset=StaffMember.objects.all(), pk_field=serializers.UUIDField()
    )

    class Meta:
        model = Licence
        fields = (
            "id", "staff", "kind", "number", "valid_from", "valid_until", "retired_at", "revision",
        )  # fmt: skip
        read_only_fields = ("retired_at", "revision")
        fixed = ("staff",)


class LicenceViewSet(RetiresRows[Licence], RowViewSet[Licence]):
    access = Access(read=OFFICE_ONLY, write=OFFICE_ONLY)
    queryset = Licence.objects.all()
    serializer_class = LicenceSerializer
    filterset_class = LicenceFilters
    change_service = staticmethod(change_licence)
    retires_by_change = True

    def perform_create(self, serializer: serializers.BaseSerializer[Licence]) -> None:
        serializer.instance = add_licence(
            serializer.validated_data, actor=staff_of(self.request), now=timezone.now()
        )
