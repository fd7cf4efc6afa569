"""The company's price list over the API."""

from __future__ import annotations

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from audits.models import PriceItem
from audits.services.price_list import add_price_item, change_price_item
from properties.http.permissions import Access
from properties.http.serializers import RowSerializer, StrictSerializer
from properties.http.views import RowViewSet, staff_of
from properties.models.staff import OFFICE_ONLY


class PriceItemSerializer(RowSerializer[PriceItem]):
    class Meta:
        model = PriceItem
        fields = (
            "id", "code", "name", "kind", "unit", "price", "is_active", "created_at",
            "changed_at", "revision",
        )  # fmt: skip
        read_only_fields = ("created_at", "changed_at", "revision")


class ChangePriceItemSerializer(StrictSerializer, serializers.ModelSerializer[PriceItem]):
    """What of an item may change; its code and kind are what it is."""

    revision = serializers.IntegerField(
        required=False, min_value=1,
        help_text="The one that was read; a change made since is then not written over.",
    )  # fmt: skip

    class Meta:
        model = PriceItem
        fields = ("name", "unit", "price", "is_active", "revision")


class PriceItemViewSet(RowViewSet[PriceItem]):
    access = Access(read=OFFICE_ONLY, write=OFFICE_ONLY)
    queryset = PriceItem.objects.all()
    serializer_class = PriceItemSerializer
    filterset_fields = ("code", "kind", "is_active")

    def perform_create(self, serializer: serializers.BaseSerializer[PriceItem]) -> None:
        serializer.instance = add_price_item(
            serializer.validated_data, actor=staff_of(self.request), now=timezone.now()
        )

    @extend_schema(request=ChangePriceItemSerializer, responses=PriceItemSerializer)
    def partial_update(self, request: Request, pk: str) -> Response:
        """Change an item of the list, or retire it; lines on tickets stay as they are."""
        item, sent = self.get_object(), ChangePriceItemSerializer(data=request.data, partial=True)
        sent.is_valid(raise_exception=True)
        changes = dict(sent.validated_data)
        changed = change_price_item(
            item, changes, read_revision=changes.pop("revision", None),
            actor=staff_of(request), now=timezone.now(),
        )  # fmt: skip
        return Response(self.get_serializer(changed).data)
