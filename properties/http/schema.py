"""What the API description says beyond the serializers: quantities, sign-in and problems."""

from __future__ import annotations

from typing import Any

from drf_spectacular.extensions import (
    OpenApiAuthenticationExtension,
    OpenApiSerializerFieldExtension,
)
from drf_spectacular.openapi import AutoSchema
from drf_spectacular.plumbing import ResolvedComponent
from rest_framework import serializers

from properties.http.expansion import EXPAND, expansions_of
from properties.http.schema_answers import KEY_HEADER, KEY_TOLD, tell_problems, tell_row_headers
from properties.models.idempotency import LONGEST_KEY


class FieldErrorSerializer(serializers.Serializer[Any]):
    pointer = serializers.CharField(help_text="JSON pointer to the field at fault.")
    code = serializers.CharField()
    detail = serializers.CharField()
    remedy = serializers.CharField(required=False)


class ProblemSerializer(serializers.Serializer[Any]):
    """RFC 9457 problem details."""

    type = serializers.CharField(help_text="Which kind of problem; its page is at this address.")
    title = serializers.CharField()
    status = serializers.IntegerField()
    code = serializers.CharField(help_text="A stable name of the rule, beside the kind.")
    detail = serializers.CharField()
    remedy = serializers.CharField(required=False)
    errors = FieldErrorSerializer(many=True, required=False)  # type: ignore[assignment]


class ProblemAwareSchema(AutoSchema):
    """Tells of every operation what holds for all: problems, ETags, keys, rows made by PUT."""

    def get_operation(self, *args: Any, **kwargs: Any) -> dict[str, Any] | None:
        operation: dict[str, Any] | None = super().get_operation(*args, **kwargs)
        if operation is None:
            return None
        problem: ResolvedComponent = self.resolve_serializer(ProblemSerializer, "response")
        self._tell_expansions(operation)
        self._tell_key(operation)
        self._tell_made_rows(operation)
        tell_row_headers(operation)
        tell_problems(operation, self._method_and_path(), problem.ref)
        return operation

    def _method_and_path(self) -> tuple[str, str]:
        return self.method.lower(), self.path

    def _tell_key(self, operation: dict[str, Any]) -> None:
        """Name the header that any POST takes whose answer may be kept."""
        takes = getattr(self.view, "takes_key", None)
        if self.method != "POST" or takes is None or not takes():
            return
        named = operation.setdefault("parameters", [])
        if all(one["name"] != KEY_HEADER for one in named):
            schema = {"type": "string", "minLength": 1, "maxLength": LONGEST_KEY}
            named.append(
                {"name": KEY_HEADER, "in": "header", "description": KEY_TOLD, "schema": schema}
            )

    def _tell_made_rows(self, operation: dict[str, Any]) -> None:
        """A row is made (201), or was made so before (200), whether by POST or by PUT."""
        act = getattr(self.view, "action", None)
        if act not in ("create", "update") or not hasattr(self.view, "made_from"):
            return
        answers = operation["responses"]
        known = next((answers[status] for status in ("201", "200") if status in answers), None)
        if known is not None and known.get("content"):
            content = known["content"]
            answers["201"] = {"description": "It is made.", "content": content}
            answers["200"] = {"description": "It was made so before.", "content": content}

    def _tell_expansions(self, operation: dict[str, Any]) -> None:
        names = list(expansions_of(self.view))
        if names and getattr(self.view, "action", None) in ("list", "retrieve"):
            told = f"Rows to be given too, under `expanded`: {', '.join(names)}; several by commas."
            schema = {"type": "array", "items": {"type": "string", "enum": names}}
            operation.setdefault("parameters", []).append(
                {"name": EXPAND, "required": False, "in": "query", "description": told,
                 "schema": schema, "style": "form", "explode": False}
            )  # fmt: skip


class BearerTokenScheme(OpenApiAuthenticationExtension):  # type: ignore[no-untyped-call]
    target_class = "properties.http.authentication.BearerTokenAuthentication"
    name = "bearerToken"

    def get_security_definition(self, auto_schema: AutoSchema) -> dict[str, Any]:
        return {"type": "http", "scheme": "bearer"}


class BrowserSessionScheme(OpenApiAuthenticationExtension):  # type: ignore[no-untyped-call]
    target_class = "properties.http.authentication.BrowserSessionAuthentication"
    name = "browserSession"

    def get_security_definition(self, auto_schema: AutoSchema) -> dict[str, Any]:
        told = "Unsafe methods need `X-CSRFToken` beside it; see `GET /api/v1/session`."
        return {"type": "apiKey", "in": "cookie", "name": "__Host-session", "description": told}


class QuantityFieldSchema(OpenApiSerializerFieldExtension):  # type: ignore[no-untyped-call]
    target_class = "properties.http.quantities.QuantityField"

    def map_serializer_field(self, auto_schema: AutoSchema, direction: str) -> dict[str, Any]:
        return _quantity({"value": {"type": "number"}}, list(self.target.dimension.units))


class QuantityListFieldSchema(OpenApiSerializerFieldExtension):  # type: ignore[no-untyped-call]
    target_class = "properties.http.quantities.QuantityListField"

    def map_serializer_field(self, auto_schema: AutoSchema, direction: str) -> dict[str, Any]:
        values = {
            "type": "array",
            "items": {"type": "number"},
            "minItems": self.target.least,
            "maxItems": self.target.most,
        }
        return _quantity({"values": values}, list(self.target.dimension.units))


class ClockTimeSchema(OpenApiSerializerFieldExtension):  # type: ignore[no-untyped-call]
    """A time on the wall, of no zone: not the `time` of JSON Schema, which has an offset."""

    target_class = "rest_framework.serializers.TimeField"

    def map_serializer_field(self, auto_schema: AutoSchema, direction: str) -> dict[str, Any]:
        is_short = direction == "response" and self.target.format == "%H:%M"
        seconds = "" if is_short else r"(:[0-5]\d(\.\d{1,6})?)?"
        pattern = rf"^([01]\d|2[0-3]):[0-5]\d{seconds}$"
        return {"type": "string", "pattern": pattern, "example": "05:30"}


class ExpandedFieldSchema(OpenApiSerializerFieldExtension):  # type: ignore[no-untyped-call]
    target_class = "properties.http.expansion.ExpandedField"

    def map_serializer_field(self, auto_schema: AutoSchema, direction: str) -> dict[str, Any]:
        cards = {
            name: auto_schema.resolve_serializer(one.card, "response").ref
            for name, one in self.target.expansions.items()
        }
        return {"type": "object", "properties": cards}


def _quantity(numbers: dict[str, Any], units: list[str]) -> dict[str, Any]:
    properties = numbers | {"unit": {"type": "string", "enum": units}}
    return {"type": "object", "properties": properties, "required": list(properties)}
