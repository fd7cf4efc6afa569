"""Forms of the office's pages: refusals stand at the field at fault."""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, ClassVar, Final, TypeVar

from django import forms
from django.core.exceptions import NON_FIELD_ERRORS, ValidationError
from django.db.models import Model, QuerySet
from django.http import HttpRequest

from properties.domain.errors import DomainError

if TYPE_CHECKING:
    ModelForm = forms.ModelForm[Any]
    ModelChoiceField = forms.ModelChoiceField[Any]
else:
    ModelForm, ModelChoiceField = forms.ModelForm, forms.ModelChoiceField

SHOWN_DIGITS: Final = 9  # enough for a position to the centimetre
AnyModel = TypeVar("AnyModel", bound=Model)


class OfficeForm(ModelForm):
    """Shows the refusal of a save that was tried; `field_names` maps a service's names to ours."""

    refusal: ClassVar[Exception | None] = None
    field_names: ClassVar[dict[str, str]] = {}

    def clean(self) -> dict[str, Any] | None:
        values = super().clean()
        if self.refusal is not None:
            self.add_error(None, _as_validation_error(self.refusal))
        return values

    def add_error(self, field: str | None, error: Any) -> None:
        """Show an error without a field that names one ("area_m2: ...") at that field."""
        if field is not None:
            super().add_error(field, error)
            return
        for name, message in _by_field(error):
            known = self.field_names.get(name, name)
            super().add_error(known if known in self.fields else None, message)


class RowForm(OfficeForm):
    """Brings back the revision that was read, so that nobody's change is written over."""

    read_revision = forms.IntegerField(widget=forms.HiddenInput, required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial["read_revision"] = self.instance.revision
        for name, value in self.initial.items():
            if isinstance(value, float):
                self.initial[name] = _without_noise(value)


class PlacedChoiceField(ModelChoiceField):
    """A choice among controllers or zones, each named with the property where it is."""

    def label_from_instance(self, obj: Any) -> str:
        return f"{obj.property}: {obj}"


def of_asked_property(rows: QuerySet[AnyModel], request: HttpRequest) -> QuerySet[AnyModel]:
    """Narrow rows to the property that the address names (`?property=`), if it names one."""
    try:
        return rows.filter(property=uuid.UUID(request.GET.get("property", "")))
    except ValueError:
        return rows


def _without_noise(value: float) -> float:
    """Round off what a conversion of units left; a number that nobody changes stays as it was."""
    return float(f"{value:.{SHOWN_DIGITS}g}")


def _as_validation_error(refusal: Exception) -> ValidationError:
    if isinstance(refusal, ValidationError):
        return refusal
    if isinstance(refusal, DomainError):
        return ValidationError({refusal.field or NON_FIELD_ERRORS: [_sentences(refusal)]})
    return ValidationError("The database refused this. Read it again, then repeat your change.")


def _sentences(refusal: DomainError) -> str:
    return f"{refusal.detail} {refusal.remedy}"


def _by_field(error: Any) -> Iterator[tuple[str, str]]:
    """Name the field of each message; a constraint's message begins with its field."""
    error = error if isinstance(error, ValidationError) else ValidationError(error)
    by_field = error.message_dict if hasattr(error, "error_dict") else {"": error.messages}
    for field, messages in by_field.items():
        for message in messages:
            name, found, text = message.partition(": ")
            is_named = field in ("", NON_FIELD_ERRORS) and found and name.isidentifier()
            yield (name, text) if is_named else (field, message)
