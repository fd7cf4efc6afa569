"""The page on which the office erases a client for good."""

from __future__ import annotations

from typing import Any, Final
from uuid import UUID

from django import forms
from django.contrib import admin, messages
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404
from django.template import engines
from django.urls import reverse
from django.utils import timezone

from properties.domain.errors import DomainError
from properties.http.office_admin import staff_of
from properties.models import Customer, ErasureReason
from properties.services.erasure import erase_customer

ERASE_TEMPLATE: Final = (
    '{% extends "admin/base_site.html" %}'
    "{% block breadcrumbs %}"
    '<div class="breadcrumbs"><a href="{% url "admin:index" %}">Home</a> &rsaquo; '
    '<a href="{% url "admin:properties_customer_changelist" %}">Customers</a> &rsaquo; '
    '<a href="{{ address }}">{{ customer }}</a> &rsaquo; Erase</div>'
    "{% endblock %}"
    "{% block content %}"
    "<p>{{ customer }}: name, contact, addresses, notes, pictures, notices and documents go, for"
    " good. What was measured stays, and nobody can tell any more at whose place. This cannot be"
    " undone; an export before it may be what the client asks for.</p>"
    '<form method="post">{% csrf_token %}{{ form.non_field_errors }}'
    '<fieldset class="module aligned">{% for field in form %}<div class="form-row">'
    '{{ field.errors }}<div class="flex-container">{{ field.label_tag }}{{ field }}</div>'
    '<div class="help">{{ field.help_text }}</div></div>{% endfor %}</fieldset>'
    '<div class="submit-row"><input type="submit" value="Erase this client" class="default"></div>'
    "</form>{% endblock %}"
)


class EraseForm(forms.Form):
    reason = forms.ChoiceField(choices=ErasureReason.choices)
    typed_name = forms.CharField(
        max_length=200, label="Name of the client",
        help_text="Type it as it stands above, so that nobody else is erased.",
    )  # fmt: skip

    def __init__(self, *args: Any, customer: Customer, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.customer = customer

    def clean_typed_name(self) -> str:
        typed: str = self.cleaned_data["typed_name"].strip()
        if typed != self.customer.name:
            raise forms.ValidationError("This is not the name of the client. Type it as it is.")
        return typed


def erase_page(request: HttpRequest, object_id: UUID) -> HttpResponse:
    """Ask for reason and name, and erase through the service; a refusal stands at the form."""
    if not request.user.has_perm("properties.change_customer"):
        raise PermissionDenied
    customer = get_object_or_404(Customer, pk=object_id)
    form = EraseForm(request.POST or None, customer=customer)
    address = reverse("admin:properties_customer_change", args=[customer.pk])
    if request.method == "POST" and form.is_valid() and _is_erased(request, customer, form):
        messages.success(request, "The client was erased.")
        return HttpResponseRedirect(address)
    shown = {"title": "Erase a client", "customer": customer, "form": form, "address": address}
    page = engines["django"].from_string(ERASE_TEMPLATE)
    return HttpResponse(page.render({**admin.site.each_context(request), **shown}, request))


def _is_erased(request: HttpRequest, customer: Customer, form: EraseForm) -> bool:
    reason = ErasureReason(form.cleaned_data["reason"])
    try:
        erase_customer(customer, reason=reason, actor=staff_of(request), now=timezone.now())
    except DomainError as refusal:
        form.add_error(None, f"{refusal.detail} {refusal.remedy}")
        return False
    return True
