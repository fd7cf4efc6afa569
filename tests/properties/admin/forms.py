"""Reading an office page as a browser does, to send its form back."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from django.test import Client
from django.urls import reverse


def address_of(row: Any) -> str:
    return reverse(f"admin:{row._meta.app_label}_{row._meta.model_name}_change", args=[row.pk])


def add_address(model: Any) -> str:
    return reverse(f"admin:{model._meta.app_label}_{model._meta.model_name}_add")


def list_address(model: Any) -> str:
    return reverse(f"admin:{model._meta.app_label}_{model._meta.model_name}_changelist")


def filled_form(client: Client, address: str) -> dict[str, str]:
    """Return what the page's form would send if nobody touched it."""
    page = client.get(address)
    forms = [page.context["adminform"].form]
    for inline in page.context["inline_admin_formsets"]:
        forms += [inline.formset.management_form, *inline.formset.forms]
    return {name: text for form in forms for name, text in _sent(form)}


def _sent(form: Any) -> Iterator[tuple[str, str]]:
    for field in form:
        value = field.value()
        if value is True:
            yield field.html_name, "on"
        elif value is not None and value is not False:
            yield field.html_name, str(value)


def errors_of(page: Any) -> dict[str, list[str]]:
    assert page.status_code == 200, page.headers.get("Location")
    return dict(page.context["adminform"].form.errors)
