"""Serializers that refuse what they do not know and keep what was entered."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, TypeVar
from uuid import UUID

from django.db.models import Model, QuerySet
from django.utils import timezone
from rest_framework import serializers
from rest_framework.validators import UniqueValidator

from properties.domain.errors import InvalidInputError
from properties.domain.ids import check_client_id
from properties.http.quantities import QuantityField, take_entered
from properties.selectors.scope import narrow_to_scope

AnyModel = TypeVar("AnyModel", bound=Model)


class StrictSerializer(serializers.Serializer[Any]):
    """Refuses fields that it does not take: what would be dropped in silence is a lost value."""

    def to_internal_value(self, data: Any) -> Any:
        if isinstance(data, Mapping):
            self._refuse_unknown(data)
        return super().to_internal_value(data)

    def _refuse_unknown(self, data: Mapping[str, Any]) -> None:
        known = [name for name, field in self.fields.items() if not field.read_only]
        unknown = sorted(str(name) for name in data.keys() - known)
        if unknown:
            message = f"This field cannot be set here. Fields: {', '.join(known)}."
            error = serializers.ErrorDetail(message, code="unknown-field")
            raise serializers.ValidationError({name: [error] for name in unknown})


class NamedChoiceField(serializers.ChoiceField):
    """Names the choices when it refuses one."""

    def __init__(self, choices: Any, **kwargs: Any) -> None:
        super().__init__(choices, **kwargs)
        named = ", ".join(str(choice) for choice in self.choices if choice)
        self.error_messages["invalid_choice"] = (
            f'"{{input}}" is not known here. Use one of: {named}.'
        )


class ClientIdField(serializers.UUIDField):
    """The id of a new row, where its client made it: a UUIDv7 of a believable moment."""

    def to_internal_value(self, data: Any) -> UUID:
        value: UUID = super().to_internal_value(data)
        try:
            check_client_id(value, now=timezone.now())
        except InvalidInputError as error:
            told = f"{error.detail} {error.remedy}"
            raise serializers.ValidationError(told, code=error.code) from error
        return value


class RowSerializer(StrictSerializer, serializers.ModelSerializer[AnyModel]):
    """A row whose id the caller may choose. Constraints are checked once, by the service.

    `Meta.fixed` names what is said once, when the row is made; a change cannot say it.
    """

    serializer_choice_field = NamedChoiceField
    id = ClientIdField(required=False)

    def get_fields(self) -> dict[str, Any]:
        fields = super().get_fields()
        if getattr(self, "partial", False):
            for name in ("id", *getattr(self.Meta, "fixed", ())):
                if name in fields:
                    fields[name].read_only = True
        return fields

    def get_validators(self) -> list[Any]:
        return []

    def build_standard_field(self, field_name: str, model_field: Any) -> tuple[type[Any], Any]:
        field_class, options = super().build_standard_field(field_name, model_field)
        kept = [rule for rule in options.get("validators", []) if type(rule) is not UniqueValidator]
        return field_class, {**options, "validators": kept} if "validators" in options else options


class MeasuredRowSerializer(RowSerializer[AnyModel]):
    """A row with quantities: keeps beside the metric numbers what was entered."""

    def to_internal_value(self, data: Any) -> Any:
        values = super().to_internal_value(data)
        if self.instance is not None:
            self._leave_out_unchanged(values)
        entered = take_entered(values)
        return values | {"entered": entered} if entered else values

    def _leave_out_unchanged(self, values: dict[str, Any]) -> None:
        """Leave out computed quantities that come back as they were shown, rounded as they are."""
        for field in self.fields.values():
            name = str(field.source)
            if isinstance(field, QuantityField) and field.is_shown_by(
                self.instance, values.get(name)
            ):
                del values[name]


class ScopedField(serializers.PrimaryKeyRelatedField[AnyModel]):
    """A reference to a row of a property that the caller may see; others do not exist for him."""

    def __init__(self, *, property_path: str, **kwargs: Any) -> None:
        self.property_path = property_path
        super().__init__(pk_field=serializers.UUIDField(), **kwargs)

    def get_queryset(self) -> QuerySet[AnyModel] | None:
        rows = super().get_queryset()
        request = self.context.get("request")
        if rows is None or request is None:
            return rows
        return narrow_to_scope(rows, self.property_path, staff=request.user, now=timezone.now())

    def use_pk_only_optimization(self) -> bool:
        return True
