"""The page on which the office takes a catch test out of force, with a reason."""

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

from audits.models import CatchTest
from audits.services.void_tests import void_test
from properties.domain.errors import DomainError
from properties.http.office_admin import staff_of

VOID_TEMPLATE: Final = (
    '{% extends "admin/base_site.html" %}'
    "{% block breadcrumbs %}"
    '<div class="breadcrumbs"><a href="{% url "admin:index" %}">Home</a> &rsaquo; '
    '<a href="{% url "admin:audits_catchtest_changelist" %}">Catch tests</a> &rsaquo; '
    '<a href="{{ address }}">{{ test }}</a> &rsaquo; Void</div>'
    "{% endblock %}"
    "{% block content %}"
    "<p>{{ test.zone.property }}, zone {{ test.zone }}: {{ test }}. What was measured stays to be"
    " read and counts no more; the valid test before it rules again. This cannot be undone.</p>"
    '<form method="post">{% csrf_token %}{{ form.non_field_errors }}'
    '<fieldset class="module aligned"><div class="form-row">'
    "{{ form.reason.errors }}{{ form.reason.label_tag }}{{ form.reason }}"
    '<div class="help">{{ form.reason.help_text }}</div></div></fieldset>'
    '<div class="submit-row"><input type="submit" value="Void this test" class="default"></div>'
    "</form>{% endblock %}"
)


class VoidForm(forms.Form):
    reason = forms.CharField(
        max_length=500,
        label="Reason",
        help_text="Why the test counts no more.",
        widget=forms.Textarea(attrs={"rows": 3, "cols": 60}),
    )


def void_page(request: HttpRequest, object_id: UUID) -> HttpResponse:
    """Ask for the reason, and void the test through the service; a refusal stands at the form."""
    if not request.user.has_perm("audits.view_catchtest"):
        raise PermissionDenied
    tests = CatchTest.objects.select_related("zone__property", "visit")
    test, form = get_object_or_404(tests, pk=object_id), VoidForm(request.POST or None)
    address = reverse("admin:audits_catchtest_change", args=[test.pk])
    if request.method == "POST" and form.is_valid() and _is_voided(request, test, form):
        messages.success(request, f"{test} was voided.")
        return HttpResponseRedirect(address)
    shown = {"title": "Void a catch test", "test": test, "form": form, "address": address}
    page = engines["django"].from_string(VOID_TEMPLATE)
    return HttpResponse(page.render({**admin.site.each_context(request), **shown}, request))


def _is_voided(request: HttpRequest, test: CatchTest, form: Any) -> bool:
    reason, actor = form.cleaned_data["reason"], staff_of(request)
    try:
        void_test(test, reason, actor=actor, now=timezone.now())
    except DomainError as refusal:
        field = refusal.field if refusal.field in form.fields else None
        form.add_error(field, f"{refusal.detail} {refusal.remedy}")
        return False
    return True
