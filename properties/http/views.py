"""The viewsets that rows of every app share: scoped reads, ETags, creation through a service.

How rows are changed and retired stands in `changes`.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, ClassVar, TypeVar, cast
from uuid import UUID

from django.db import transaction
from django.db.models import Model, QuerySet
from django.http import Http404
from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.utils import OpenApiParameter, extend_schema, extend_schema_view
from rest_framework import mixins, serializers, status, viewsets
from rest_framework.request import Request
from rest_framework.response import Response

from properties.domain.units import System
from properties.http.expansion import (
    EXPAND,
    Expansion,
    asked_expansions,
    with_expanded,
)
from properties.http.filters import RETIRED
from properties.http.idempotency import KeyedPosts
from properties.http.ordering import Order
from properties.http.permissions import Access
from properties.http.preconditions import IF_NONE_MATCH, etag_of, is_known_to
from properties.models import Row, StaffMember
from properties.selectors.company import company_units
from properties.selectors.retirement import narrow_to_retired, retires_by
from properties.selectors.scope import narrow_to_scope
from properties.services.made_rows import Making, was_made_before
from properties.services.rows import add_row

AnyModel = TypeVar("AnyModel", bound=Model)
AnyRow = TypeVar("AnyRow", bound=Model)
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
class ScopedViewSet(KeyedPosts, viewsets.GenericViewSet[AnyModel]):
    """Narrows rows to what the caller may see, by the path from the row to its property.

    `keyed_acts` must be sent with an Idempotency-Key; answers of `unkept_acts` are not kept.
    """

    access: ClassVar[Access]
    property_path: ClassVar[str | None] = None
    orders: ClassVar[Mapping[str, Order]] = {}
    usual_ordering: ClassVar[str] = ""
    expansions: ClassVar[Mapping[str, Expansion]] = {}
    keyed_acts: ClassVar[frozenset[str]] = frozenset()
    unkept_acts: ClassVar[frozenset[str]] = frozenset()

    def get_queryset(self) -> QuerySet[AnyModel]:
        rows = super().get_queryset()
        if getattr(self, "swagger_fake_view", False):
            return rows
        rows = with_expanded(rows, asked_expansions(self.request, self))
        if self.property_path is None:
            return rows
        staff = staff_of(self.request)
        return narrow_to_scope(rows, self.property_path, staff=staff, now=timezone.now())

    def get_serializer_context(self) -> dict[str, Any]:
        fake = getattr(self, "swagger_fake_view", False)
        units = "metric" if fake else requested_units(self.request)
        expanded = {} if fake else asked_expansions(self.request, self)
        return {**super().get_serializer_context(), "units": units, EXPAND: expanded}

    def finalize_response(
        self, request: Request, response: Any, *args: Any, **kwargs: Any
    ) -> Response:
        """Send a row out with its ETag."""
        content = getattr(response, "data", None)
        if isinstance(content, Mapping) and self._is_row(content):
            units = self.get_serializer_context()["units"]
            response.headers.setdefault("ETag", etag_of(content, units))
            response.headers.setdefault("Cache-Control", "private, no-cache")
        answer: Response = super().finalize_response(request, response, *args, **kwargs)
        return answer

    def _is_row(self, content: Mapping[str, Any]) -> bool:
        return self.action == "retrieve" or {"id", "revision"} <= content.keys()

    def asks_for_key(self) -> bool:
        return self.action in self.keyed_acts

    def takes_key(self) -> bool:
        return self.action not in self.unkept_acts

    def kept_of(self, answer: Response) -> Any:
        """Keep of a row its id alone: what it says may be personal, and stands in it."""
        content = answer.data
        return {"id": content["id"]} if isinstance(content, Mapping) and "id" in content else None

    def told_again(self, body: Any) -> Any:
        """Answer with the row as it stands now."""
        if body is None:
            return None
        row = get_object_or_404(self.get_queryset(), pk=body["id"])
        return self.get_serializer(row).data


class ReadViewSet(
    mixins.ListModelMixin,
    mixins.RetrieveModelMixin,
    ScopedViewSet[AnyModel],
):
    """List and detail. What is retired is listed only when it is asked for."""

    @extend_schema(parameters=[IF_NONE_MATCH])
    def retrieve(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        content = self.get_serializer(self.get_object()).data
        etag = etag_of(content, self.get_serializer_context()["units"])
        if is_known_to(request, etag):
            return Response(status=status.HTTP_304_NOT_MODIFIED, headers={"ETag": etag})
        return Response(content, headers={"ETag": etag})

    def filter_queryset(self, queryset: QuerySet[AnyModel, Any]) -> QuerySet[AnyModel, Any]:
        """Leave out what is retired, unless the flag itself is asked for."""
        flag = retires_by(queryset.model)
        if self.action == "list" and flag and flag not in self.request.query_params:
            queryset = narrow_to_retired(queryset, retired=asks_for_retired(self.request))
        return super().filter_queryset(queryset)


class RowViewSet(mixins.CreateModelMixin, ReadViewSet[AnyRow]):
    """List, detail, and creation of a plain row; others override `perform_create`.

    The id of a new row may be the client's, in the body of a POST or in the address of a PUT. The
    same sent again is answered by the row that is there; something else under its id is refused.
    What is sent for a new row may have a serializer of its own, `made_from`.
    """

    made_from: ClassVar[type[serializers.BaseSerializer[Any]] | None] = None

    def create(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        return self._make(request.data, address=request.path)

    def update(self, request: Request, pk: str) -> Response:
        """Make a row under the id of the address; one that is there is not written over."""
        row_id, body = uuid_or_404(pk), request.data
        if isinstance(body, Mapping):
            if str(body.get("id", row_id)).lower() != str(row_id):
                raise serializers.ValidationError({"id": "The address has another id."})
            body = {**body, "id": str(row_id)}
        seen = self.get_queryset()
        if seen.model._base_manager.filter(pk=row_id).exists():
            get_object_or_404(seen, pk=row_id)
        return self._make(body, address=request.path.rpartition("/")[0])

    def perform_create(self, serializer: serializers.BaseSerializer[AnyRow]) -> None:
        model = cast("type[Row]", self.get_queryset().model)
        row = add_row(
            model, serializer.validated_data, actor=staff_of(self.request), now=timezone.now()
        )
        serializer.instance = cast("AnyRow", row)

    @transaction.atomic
    def _make(self, body: Any, *, address: str) -> Response:
        making = Making.of(self.get_queryset().model, body)
        if making and was_made_before(making, now=timezone.now()):
            row = self.get_queryset().filter(pk=making.row_id).first()
            if row is not None:
                return Response(self.get_serializer(row).data)
        serializer_class = self.made_from or self.get_serializer_class()
        serializer = serializer_class(data=body, context=self.get_serializer_context())
        serializer.is_valid(raise_exception=True)
        self.perform_create(serializer)
        content = self.get_serializer(serializer.instance).data
        headers = {"Location": f"{address}/{content['id']}"}
        return Response(content, status=status.HTTP_201_CREATED, headers=headers)


def made_from(sent: Any, answered: Any) -> Any:
    """Describe a viewset whose rows are made from another serializer than they are shown in."""
    words = extend_schema(request=sent, responses={200: answered, 201: answered})
    return extend_schema_view(create=words, update=words)


def uuid_or_404(text: str) -> UUID:
    """Return the id of an address; what is no id is not found."""
    try:
        return UUID(text)
    except ValueError as error:
        raise Http404 from error


def asks_for_retired(request: Request) -> bool:
    """Return whether a list is asked for what is out of use."""
    asked = request.query_params.get(RETIRED, "false")
    if asked not in ("true", "false"):
        raise serializers.ValidationError({RETIRED: "Use true or false."})
    return asked == "true"
