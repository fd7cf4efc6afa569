"""Visits and their moves."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.db.models import QuerySet
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from audits.api.filters import VISIT_ORDERS, VisitFilters
from audits.models import Visit
from audits.selectors.scope import own_visits
from audits.services.visits import (
    call_off_visit,
    change_visit,
    finish_visit,
    miss_visit,
    plan_visit,
    start_visit,
)
from properties.http.bulk import MakesManyRows
from properties.http.cards import PROPERTY
from properties.http.changes import ChangedRowViewSet
from properties.http.expansion import ExpandedField
from properties.http.permissions import Access
from properties.http.serializers import RowSerializer, ScopedField
from properties.http.views import staff_of
from properties.models import Property, StaffMember
from properties.models.staff import ALL_STAFF, OFFICE_ONLY

MOVED = extend_schema(request=None)
EXPANSIONS = {"property": PROPERTY}


class VisitSerializer(RowSerializer[Visit]):
    expanded = ExpandedField(EXPANSIONS)
    property: ScopedField[Property] = ScopedField(
        queryset=Property.objects.all(), property_path="pk"
    )
    technician = serializers.PrimaryKeyRelatedField(
        queryset=StaffMember.objects.all(), pk_field=serializers.UUIDField()
    )

    class Meta:
        model = Visit
        fields = (
            "id", "property", "technician", "kind", "state", "planned_date", "started_at",
            "finished_at", "notes", "created_at", "changed_at", "revision", "expanded",
        )  # fmt: skip
        read_only_fields = (
            "state", "started_at", "finished_at", "created_at", "changed_at", "revision",
        )  # fmt: skip
        fixed = ("property",)


class VisitViewSet(MakesManyRows[Visit], ChangedRowViewSet[Visit]):
    """The office plans; the technician starts and finishes his own."""

    access = Access(
        read=ALL_STAFF, write=OFFICE_ONLY, acts=(("start", ALL_STAFF), ("finish", ALL_STAFF))
    )
    queryset = Visit.objects.all()
    serializer_class = VisitSerializer
    filterset_class = VisitFilters
    expansions = EXPANSIONS
    orders = VISIT_ORDERS
    change_service = staticmethod(change_visit)

    def get_queryset(self) -> QuerySet[Visit]:
        visits = super().get_queryset()
        if getattr(self, "swagger_fake_view", False):
            return visits
        return own_visits(visits, staff=staff_of(self.request), now=timezone.now())

    def perform_create(self, serializer: serializers.BaseSerializer[Visit]) -> None:
        serializer.instance = plan_visit(
            serializer.validated_data, actor=staff_of(self.request), now=timezone.now()
        )

    @MOVED
    @action(detail=True, methods=["post"])
    def start(self, request: Request, pk: str) -> Response:
        """Begin a planned visit."""
        return self._move(start_visit)

    @MOVED
    @action(detail=True, methods=["post"])
    def finish(self, request: Request, pk: str) -> Response:
        """End a visit: tickets are opened, plans and the audit summary are made."""
        return self._move(finish_visit)

    @MOVED
    @action(detail=True, methods=["post"], url_path="call-off")
    def call_off(self, request: Request, pk: str) -> Response:
        """Call off a visit that has not begun."""
        return self._move(call_off_visit)

    @MOVED
    @action(detail=True, methods=["post"])
    def miss(self, request: Request, pk: str) -> Response:
        """Note that a visit did not take place."""
        return self._move(miss_visit)

    def _move(self, service: Callable[..., Visit]) -> Response:
        visit = service(self.get_object(), actor=staff_of(self.request), now=timezone.now())
        content: dict[str, Any] = self.get_serializer(visit).data
        return Response(content)
