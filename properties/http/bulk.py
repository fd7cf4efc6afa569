"""Making many rows in one request: each succeeds or fails by itself, and says so."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any, Final

from django.db import transaction
from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from properties.http.serializers import StrictSerializer
from properties.http.views import AnyRow, RowViewSet

MOST_ITEMS: Final = 100


class BulkSerializer(StrictSerializer):
    """Rows as they are posted one by one; each names an id, so that all can be sent again."""

    items = serializers.ListField(
        child=serializers.DictField(), min_length=1, max_length=MOST_ITEMS,
        help_text=f"Up to {MOST_ITEMS} rows, each with a UUIDv7 of your own.",
    )  # fmt: skip

    def validate_items(self, items: list[dict[str, Any]]) -> list[dict[str, Any]]:
        nameless: dict[str, Any] = {
            str(index): {"id": "Give each row a UUIDv7 of your own."}
            for index, item in enumerate(items)
            if not item.get("id")
        }
        if nameless:
            raise serializers.ValidationError(nameless)
        ids = [str(item["id"]).lower() for item in items]
        twice: dict[str, Any] = {
            str(index): {"id": "Another row here has this id."}
            for index, row_id in enumerate(ids)
            if row_id in ids[:index]
        }
        if twice:
            raise serializers.ValidationError(twice)
        return items


class BulkResultSerializer(serializers.Serializer[Any]):
    """What came of one row: the row, or the problem with pointers into it."""

    id = serializers.CharField()
    status = serializers.IntegerField(help_text="201 made, 200 made so before, else refused.")
    row = serializers.DictField(allow_null=True)
    problem = serializers.DictField(allow_null=True)


class BulkAnswerSerializer(serializers.Serializer[Any]):
    results = BulkResultSerializer(many=True)


class MakesManyRows(RowViewSet[AnyRow]):
    """POST .../bulk: rows made in their order, each in a savepoint of its own."""

    @extend_schema(request=BulkSerializer, responses=BulkAnswerSerializer)
    @action(detail=False, methods=["post"], pagination_class=None, filter_backends=[])
    def bulk(self, request: Request) -> Response:
        """Make many rows; each is answered as if it had been posted alone."""
        sent = BulkSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        address = request.path.rpartition("/")[0]
        with transaction.atomic():
            results = [self._result(item, address) for item in sent.validated_data["items"]]
        return Response({"results": results}, status=status.HTTP_200_OK)

    def takes_key(self) -> bool:
        """The ids do what a key would."""
        return self.action != "bulk" and super().takes_key()

    def _result(self, item: Mapping[str, Any], address: str) -> dict[str, Any]:
        told = {"id": str(item["id"]), "row": None, "problem": None}
        try:
            with transaction.atomic():
                answer = self._make(item, address=address)
        except Exception as error:
            if transaction.get_rollback():  # as when the connection died: nothing will be stored
                raise
            response = self.get_exception_handler()(error, self.get_exception_handler_context())
            if response is None:  # our own failure: the request as a whole is undone
                raise
            problem = json.loads(response.content)
            return {**told, "status": response.status_code, "problem": problem}
        return {**told, "status": answer.status_code, "row": answer.data}
