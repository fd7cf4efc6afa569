"""From when to when drought stages are on: read by all staff, ended and put right by the office."""

from __future__ import annotations

from properties.api.filters import StagePeriodFilters
from properties.http.changes import ChangesRows
from properties.http.permissions import Access
from properties.http.serializers import RowSerializer
from properties.http.views import ReadViewSet
from properties.models import StagePeriod
from properties.models.staff import ALL_STAFF, OFFICE_ONLY
from properties.services.watering_districts import change_period


class StagePeriodRowSerializer(RowSerializer[StagePeriod]):
    """The days of a period; with a last day it ends, with null it is on until it is ended."""

    class Meta:
        model = StagePeriod
        fields = (
            "id", "stage", "first_date", "last_date", "is_void", "created_at", "changed_at",
            "revision",
        )  # fmt: skip
        read_only_fields = ("is_void", "created_at", "changed_at", "revision")
        fixed = ("stage",)


class StagePeriodViewSet(ChangesRows[StagePeriod], ReadViewSet[StagePeriod]):
    """A stage is switched on at its district; here it is ended."""

    access = Access(read=ALL_STAFF, write=OFFICE_ONLY)
    queryset = StagePeriod.objects.all()
    serializer_class = StagePeriodRowSerializer
    filterset_class = StagePeriodFilters
    change_service = staticmethod(change_period)
