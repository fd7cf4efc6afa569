"""The company's price list over the API."""

from __future__ import annotations

from django.utils import timezone
from rest_framework import serializers

from audits.api.filters import PRICE_ITEM_ORDERS, PriceItemFilters
from audits.models import PriceItem
from audits.services.price_list import add_price_item, change_price_item
from properties.http.changes import KeptRowViewSet
from properties.http.permissions import Access
from properties.http.serializers import RowSerializer
from properties.http.views import staff_of
from properties.models.staff import OFFICE_ONLY


class PriceItemSerializer(RowSerializer[PriceItem]):
    class Meta:
        model = PriceItem
        fields = (
            "id", "code", "name", "kind", "unit", "price", "is_active", "created_at",
            "changed_at", "revision",
        )  # fmt: skip
        read_only_fields = ("created_at", "changed_at", "revision")
        fixed = ("code", "kind")


class PriceItemViewSet(KeptRowViewSet[PriceItem]):
    access = Access(read=OFFICE_ONLY, write=OFFICE_ONLY)
    queryset = PriceItem.objects.all()
    serializer_class = PriceItemSerializer
    filterset_class = PriceItemFilters
    orders = PRICE_ITEM_ORDERS
    change_service = staticmethod(change_price_item)
    retires_by_change = True

    def perform_create(self, serializer: serializers.BaseSerializer[PriceItem]) -> None:
        serializer.instance = add_price_item(
            serializer.validated_data, actor=staff_of(self.request), now=timezone.now()
        )
