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


class FieldErrorSerializer(serializers.Serializer[Any]):
    pointer = serializers.CharField(help_text="JSON pointer to the field at fault.")
    code = serializers.CharField()
    detail = serializers.CharField()
    remedy = serializers.CharField(required=False)


class ProblemSerializer(serializers.Serializer[Any]):
    """RFC 9457 problem details."""

    type = serializers.CharField()
    title = serializers.CharField()
    status = serializers.IntegerField()
    detail = serializers.CharField()
    remedy = serializers.CharField(required=False)
    errors = FieldErrorSerializer(many=True, required=False)  # type: ignore[assignment]


class ProblemAwareSchema(AutoSchema):
    """Adds the one error shape to every operation."""

    def get_operation(self, *args: Any, **kwargs: Any) -> dict[str, Any] | None:
        operation: dict[str, Any] | None = super().get_operation(*args, **kwargs)
        if operation is not None:
            component: ResolvedComponent = self.resolve_serializer(ProblemSerializer, "response")
            content = {"application/problem+json": {"schema": component.ref}}
            operation["responses"]["default"] = {"description": "A problem.", "content": content}
        return operation


class BearerTokenScheme(OpenApiAuthenticationExtension):  # type: ignore[no-untyped-call]
    target_class = "properties.http.authentication.BearerTokenAuthentication"
    name = "bearerToken"

    def get_security_definition(self, auto_schema: AutoSchema) -> dict[str, Any]:
        return {"type": "http", "scheme": "bearer"}


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


def _quantity(numbers: dict[str, Any], units: list[str]) -> dict[str, Any]:
    properties = numbers | {"unit": {"type": "string", "enum": units}}
    return {"type": "object", "properties": properties, "required": list(properties)}
