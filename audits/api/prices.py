"""The company's price list over the API."""

from __future__ import annotations

from django.utils import timezone
from rest_framework import serializers

from audits.models import PriceItem
from audits.services.price_list import add_price_item
from properties.http.permissions import Access
from properties.http.serializers import RowSerializer
from properties.http.views import RowViewSet, staff_of
from properties.models.staff import OFFICE_ONLY


class PriceItemSerializer(RowSerializer[PriceItem]):
    class Meta:
        model = PriceItem
        fields = ("id", "code", "name", "kind", "unit", "price", "is_active", "created_at")
        read_only_fields = ("created_at",)


class PriceItemViewSet(RowViewSet[PriceItem]):
    access = Access(read=OFFICE_ONLY, write=OFFICE_ONLY)
    queryset = PriceItem.objects.all()
    serializer_class = PriceItemSerializer
    filterset_fields = ("code", "kind", "is_active")

    def perform_create(self, serializer: serializers.BaseSerializer[PriceItem]) -> None:
        serializer.instance = add_price_item(
            serializer.validated_data, actor=staff_of(self.request), now=timezone.now()
        )
