"""Physical quantities at the edge: `{"value": 0.25, "unit": "in"}` in and out, metric inside.

What a person entered is kept beside the metric number and given back as it was. What was computed
comes in the unit system of the request (`?units=us|metric`), or else in the company's.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from rest_framework import serializers

from properties.domain.errors import InvalidInputError
from properties.domain.units import (
    Dimension,
    System,
    dimension,
    from_canonical,
    preferred_unit,
    to_canonical,
)

SIGNIFICANT_DIGITS = 6


class EnteredFloat(float):
    """A canonical number that remembers what was entered."""

    entered: dict[str, Any]

    def __new__(cls, canonical: float, entered: dict[str, Any]) -> EnteredFloat:
        number = super().__new__(cls, canonical)
        number.entered = entered
        return number


class EnteredList(list[float]):
    """Canonical numbers that remember what was entered."""

    def __init__(self, canonical: Sequence[float], entered: dict[str, Any]) -> None:
        super().__init__(canonical)
        self.entered = entered


def quantity(value: float | None, of: Dimension, system: System) -> dict[str, Any] | None:
    """Return a computed canonical number as people of that unit system meet it."""
    if value is None:
        return None
    unit = preferred_unit(of, system)
    return {"value": rounded(from_canonical(value, unit, of)), "unit": unit}


def rounded(value: float) -> float:
    """Round to the digits that a measurement can bear, so that no float noise goes out."""
    return float(f"{value:.{SIGNIFICANT_DIGITS}g}")


class QuantityField(serializers.Field[Any, Any, Any, Any]):
    """One quantity, entered or computed."""

    default_error_messages = {
        "shape": 'Send an object such as {{"value": 1.5, "unit": "{unit}"}}.',
        "number": "The value must be a number.",
    }

    def __init__(self, of: str, **kwargs: Any) -> None:
        self.dimension = dimension(of)
        super().__init__(**kwargs)

    def to_internal_value(self, data: Any) -> EnteredFloat:
        unit = self._unit_of(data, {"value", "unit"})
        canonical = self._canonical(data["value"], unit)
        return EnteredFloat(canonical, {"value": data["value"], "unit": unit})

    def get_attribute(self, instance: Any) -> Any:
        value = super().get_attribute(instance)
        entered = getattr(instance, "entered", None) or {}
        return None if value is None else (value, entered.get(self.source))

    def to_representation(self, value: Any) -> Any:
        number, entered = value
        return entered or quantity(number, self.dimension, self.context["units"])

    def is_shown_by(self, row: Any, sent: Any) -> bool:
        """Return whether what was sent is but the row's own computed number, as it goes out."""
        name = str(self.source)
        if not isinstance(sent, EnteredFloat | EnteredList) or row.entered.get(name):
            return False
        shown = self._shown(getattr(row, name), sent.entered["unit"])
        return shown is not None and shown == sent.entered

    def _shown(self, stored: Any, unit: str) -> dict[str, Any] | None:
        if stored is None:
            return None
        return {"value": rounded(from_canonical(stored, unit, self.dimension)), "unit": unit}

    def _unit_of(self, data: Any, keys: set[str]) -> str:
        if (
            not isinstance(data, Mapping)
            or data.keys() != keys
            or not isinstance(data["unit"], str)
        ):
            self.fail("shape", unit=preferred_unit(self.dimension, "us"))
        return str(data["unit"])

    def _canonical(self, number: Any, unit: str) -> float:
        if isinstance(number, bool) or not isinstance(number, int | float):
            self.fail("number")
        try:
            return to_canonical(_finite(number), unit, self.dimension)
        except InvalidInputError as error:
            raise serializers.ValidationError(
                f"{error.detail} {error.remedy}", code=error.code
            ) from error


class QuantityListField(QuantityField):
    """Several quantities of one unit: `{"unit": "mm", "values": [12, 14.5]}`."""

    default_error_messages = {
        "shape": 'Send an object such as {{"unit": "{unit}", "values": [1.5, 2]}}.',
        "count": "Send from {least} to {most} values.",
    }

    def __init__(self, of: str, *, least: int = 1, most: int = 100, **kwargs: Any) -> None:
        self.least, self.most = least, most
        super().__init__(of, **kwargs)

    def to_internal_value(self, data: Any) -> Any:
        unit = self._unit_of(data, {"unit", "values"})
        values = data["values"]
        if not isinstance(values, list) or not self.least <= len(values) <= self.most:
            self.fail("count", least=self.least, most=self.most)
        return EnteredList(self._each(values, unit), {"unit": unit, "values": values})

    def to_representation(self, value: Any) -> Any:
        numbers, entered = value
        unit = preferred_unit(self.dimension, self.context["units"])
        values = [rounded(from_canonical(number, unit, self.dimension)) for number in numbers]
        return entered or {"unit": unit, "values": values}

    def _shown(self, stored: Any, unit: str) -> dict[str, Any] | None:
        if stored is None:
            return None
        values = [rounded(from_canonical(number, unit, self.dimension)) for number in stored]
        return {"unit": unit, "values": values}

    def _each(self, values: list[Any], unit: str) -> list[float]:
        numbers, errors = [], {}
        for index, value in enumerate(values):
            try:
                numbers.append(self._canonical(value, unit))
            except serializers.ValidationError as error:
                errors[str(index)] = error.detail
        if errors:
            raise serializers.ValidationError({"values": errors})
        return numbers


def _finite(number: float) -> float:
    """Return the number as a float; an integer beyond all floats counts as infinite."""
    try:
        return float(number)
    except OverflowError:
        return math.inf


def take_entered(values: dict[str, Any]) -> dict[str, Any]:
    """Split what was entered off validated values, in place; return it by field name."""
    entered = {}
    for name, value in values.items():
        if isinstance(value, EnteredFloat | EnteredList):
            entered[name] = value.entered
            values[name] = float(value) if isinstance(value, EnteredFloat) else list(value)
    return entered
