"""The viewset that rows of every app share: scoped reads, creation through a service."""

from __future__ import annotations

from typing import Any, ClassVar, TypeVar, cast

from django.db.models import Model, QuerySet
from django.utils import timezone
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import mixins, serializers, viewsets
from rest_framework.request import Request

from properties.domain.units import System
from properties.http.permissions import Access
from properties.models import Row, StaffMember
from properties.selectors.company import company_units
from properties.selectors.scope import narrow_to_scope
from properties.services.rows import add_row

AnyModel = TypeVar("AnyModel", bound=Model)
AnyRow = TypeVar("AnyRow", bound=Row)
UNITS_PARAMETER = OpenApiParameter(
    "units", str, enum=["us", "metric"],
    description="Unit system of computed quantities; the company's when absent.",
)  # fmt: skip


def staff_of(request: Request) -> StaffMember:
    """Return the signed-in member of staff; the permission class let nobody else in."""
    return cast(StaffMember, request.user)


def requested_units(request: Request) -> System:
    """Return the unit system that the request asks for, or else the company's."""
    asked = request.query_params.get("units")
    if asked is None:
        return company_units()
    if asked not in ("us", "metric"):
        raise serializers.ValidationError({"units": "Use 'us' or 'metric'."})
    return cast(System, asked)


@extend_schema(parameters=[UNITS_PARAMETER])
class ScopedViewSet(viewsets.GenericViewSet[AnyModel]):
    """Narrows rows to what the caller may see, by the path from the row to its property."""

    access: ClassVar[Access]
    property_path: ClassVar[str | None] = None

    def get_queryset(self) -> QuerySet[AnyModel]:
        rows = super().get_queryset()
        if getattr(self, "swagger_fake_view", False) or self.property_path is None:
            return rows
        staff = staff_of(self.request)
        return narrow_to_scope(rows, self.property_path, staff=staff, now=timezone.now())

    def get_serializer_context(self) -> dict[str, Any]:
        fake = getattr(self, "swagger_fake_view", False)
        units = "metric" if fake else requested_units(self.request)
        return {**super().get_serializer_context(), "units": units}


class ReadViewSet(
    mixins.ListModelMixin,
    mixins.RetrieveModelMixin,
    ScopedViewSet[AnyModel],
):
    """List and detail."""


class RowViewSet(mixins.CreateModelMixin, ReadViewSet[AnyRow]):
    """List, detail, and creation of a plain row; others override `perform_create`."""

    def perform_create(self, serializer: serializers.BaseSerializer[AnyRow]) -> None:
        model = self.get_queryset().model
        serializer.instance = add_row(
            model, serializer.validated_data, actor=staff_of(self.request), now=timezone.now()
        )
