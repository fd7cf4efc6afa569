"""What the office's pages of every app share: no row is lost, every save is remembered.

1. A form is saved through a service, so that the row and its event are written together.
2. What a service or the database refuses undoes the whole save; the page is then built once more
   with the refusal as an error of the form.
3. Nothing is deleted; rows are retired by their own fields or states.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Any, ClassVar, Final, TypeVar, cast

from django.contrib import admin, messages
from django.core.exceptions import ValidationError
from django.db import IntegrityError
from django.db.models import CharField, Field, FloatField, Model, QuerySet
from django.forms import NumberInput, TextInput
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.urls import reverse
from django.utils import timezone
from django.utils.html import format_html_join

from properties.domain.errors import DomainError
from properties.http.office_columns import quantity_name, unit_label
from properties.http.office_forms import OfficeForm, RowForm
from properties.models import Row, StaffMember
from properties.services.rows import add_row, change_row

if TYPE_CHECKING:
    ModelAdmin = admin.ModelAdmin[Any]
    TabularInline = admin.TabularInline[Any, Any]
else:
    ModelAdmin, TabularInline = admin.ModelAdmin, admin.TabularInline

AnyModel = TypeVar("AnyModel", bound=Model)
REFUSALS: Final = (DomainError, ValidationError, IntegrityError)
RECORD_FIELDS: Final = ("created_at", "changed_at", "revision")
NARROW: Final[dict[type[Field[Any, Any]], dict[str, Any]]] = {
    FloatField: {"widget": NumberInput(attrs={"style": "width: 8em"})},
    CharField: {"widget": TextInput(attrs={"size": 14})},
}
_MORE_INLINES: Final[dict[type[Model], list[type[TabularInline]]]] = {}


def register_inline(model: type[Model], inline: type[TabularInline]) -> None:
    """Let a higher app show its rows on the page of a lower app's row."""
    _MORE_INLINES.setdefault(model, []).append(inline)


def staff_of(request: HttpRequest) -> StaffMember:
    """Return the signed-in office user; the admin site let nobody else in."""
    return cast(StaffMember, request.user)


def try_each(
    request: HttpRequest, rows: Iterable[AnyModel], act: Callable[[AnyModel], object], *, done: str
) -> None:
    """Do an act on each chosen row and say how it went; one refusal does not stop the others."""
    count = 0
    for row in rows:
        try:
            act(row)
            count += 1
        except DomainError as refusal:
            messages.error(request, f"{row}: {refusal.detail} {refusal.remedy}")
    if count:
        messages.success(request, f"{count} {done}.")


class KeptRows:
    """No deleting, and units in the labels of numbers."""

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def formfield_for_dbfield(
        self, db_field: Field[Any, Any], request: HttpRequest | None, **kwargs: Any
    ) -> Any:
        field = super().formfield_for_dbfield(db_field, request, **kwargs)  # type: ignore[misc]
        if field is not None:
            field.label = unit_label(db_field.name) or field.label
        return field


class OfficeAdmin(KeptRows, ModelAdmin):
    """A page whose refusals are form errors and whose history is the company's memory."""

    form = OfficeForm
    list_per_page = 50
    view_on_site = False

    def get_inlines(self, request: HttpRequest, obj: Any) -> list[Any]:
        inlines = [*super().get_inlines(request, obj), *_MORE_INLINES.get(self.model, [])]
        return [inline for inline in inlines if obj or not issubclass(inline, RowsToSee)]

    def get_form(
        self, request: HttpRequest, obj: Any = None, change: bool = False, **kwargs: Any
    ) -> Any:
        form: Any = super().get_form(request, obj, change=change, **kwargs)
        form.refusal = getattr(request, "office_refusal", None)
        return form

    def changeform_view(
        self,
        request: HttpRequest,
        object_id: str | None = None,
        form_url: str = "",
        extra_context: dict[str, Any] | None = None,
    ) -> HttpResponse:
        try:
            return super().changeform_view(request, object_id, form_url, extra_context)
        except REFUSALS as refusal:
            if request.method != "POST":
                raise
            request.office_refusal = refusal  # type: ignore[attr-defined]
            return super().changeform_view(request, object_id, form_url, extra_context)

    def history_view(
        self, request: HttpRequest, object_id: str, extra_context: dict[str, Any] | None = None
    ) -> HttpResponse:
        events = reverse("admin:properties_event_changelist")
        return HttpResponseRedirect(f"{events}?q={object_id}")

    def construct_change_message(self, *args: Any, **kwargs: Any) -> list[Any]:
        return []

    def log_addition(self, *args: Any) -> Any:
        """Write no second log: it would keep names that the events leave out."""

    def log_change(self, *args: Any) -> Any:
        """Write no second log, as in `log_addition`."""


class ReadOnlyAdmin(OfficeAdmin):
    """Facts: to look at, not to edit."""

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False


class RowAdmin(OfficeAdmin):
    """Business rows: added and changed through services, at the revision that was read."""

    form = RowForm

    def add(self, values: dict[str, Any], **who_and_when: Any) -> Row:
        """Create the row; a model with a service of its own overrides this."""
        row: Row = add_row(self.model, values, **who_and_when)
        return row

    def change(self, row: Any, changes: dict[str, Any], **who_and_when: Any) -> Row:
        """Change the row, as read; a model with a service of its own overrides this."""
        changed: Row = change_row(row, changes, **who_and_when)
        return changed

    def get_fieldsets(self, request: HttpRequest, obj: Any = None) -> Any:
        fieldsets = list(super().get_fieldsets(request, obj))
        if obj is None:
            return fieldsets
        entered = ("as_entered",) if getattr(obj, "entered", None) else ()
        record = {"fields": (RECORD_FIELDS, *entered, "read_revision")}
        return [*fieldsets, ("Record", record)]

    def get_readonly_fields(self, request: HttpRequest, obj: Any = None) -> Any:
        return (*super().get_readonly_fields(request, obj), *RECORD_FIELDS, "as_entered")

    @admin.display(description="As entered")
    def as_entered(self, row: Any) -> str:
        """Show what a person typed, in his own units, before it became metric."""
        return format_html_join("; ", "{} {}", _entered_texts(row.entered))

    def save_model(self, request: HttpRequest, obj: Any, form: Any, change: bool) -> None:
        if change:
            _change(request, form, self.change)
        else:
            _add(request, form, self.add)

    def save_formset(self, request: HttpRequest, form: Any, formset: Any, change: bool) -> None:
        for row_form in formset.forms:
            if not row_form.has_changed():
                continue
            if row_form.instance._state.adding:
                _add(
                    request, row_form, lambda values, **rest: add_row(formset.model, values, **rest)
                )
            else:
                _change(request, row_form, change_row)


class RowInline(KeptRows, TabularInline):
    """Rows that are edited on their owner's page."""

    form = RowForm
    formfield_overrides = NARROW
    extra = 0
    can_delete = False


class RowsToSee(KeptRows, TabularInline):
    """Rows that are shown on their owner's page, each with a way to its own.

    `shown_with` names the related rows that its columns show, to read them all at once.
    """

    extra = 0
    can_delete = False
    show_change_link = True
    shown_with: ClassVar[tuple[str, ...]] = ()

    def get_queryset(self, request: HttpRequest) -> QuerySet[Any]:
        rows = super().get_queryset(request)
        return rows.select_related(*self.shown_with) if self.shown_with else rows

    def has_add_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False


def _add(request: HttpRequest, form: Any, add: Callable[..., Row]) -> None:
    values = _values(form, form.cleaned_data)
    row = add(values, actor=staff_of(request), now=timezone.now())
    form.instance.pk = row.pk
    form.instance._state.adding = False


def _change(request: HttpRequest, form: Any, change: Callable[..., Row]) -> None:
    changes = _values(form, form.changed_data)
    if not changes:
        return
    row = form.instance._meta.default_manager.get(pk=form.instance.pk)
    row.revision = form.cleaned_data["read_revision"] or 0
    change(row, changes, actor=staff_of(request), now=timezone.now())


def _values(form: Any, names: Iterable[str]) -> dict[str, Any]:
    known = {field.name for field in form.instance._meta.concrete_fields if not field.primary_key}
    return {name: form.cleaned_data[name] for name in names if name in known}


def _entered_texts(entered: dict[str, Any]) -> list[tuple[str, str]]:
    return [(f"{quantity_name(name)}:", _entered_text(value)) for name, value in entered.items()]


def _entered_text(value: dict[str, Any]) -> str:
    numbers = value.get("values", [value.get("value")])
    return f"{', '.join(str(number) for number in numbers)} {value.get('unit', '')}"
