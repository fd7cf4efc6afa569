"""The frame of the office's pages, and the change of one's own password."""

from __future__ import annotations

from typing import Any

from django.contrib import admin
from django.contrib.admin.forms import AdminPasswordChangeForm
from django.contrib.auth.models import Group
from django.contrib.auth.views import PasswordChangeView
from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.template import engines
from django.urls import reverse_lazy
from django.utils import timezone
from django.utils.functional import lazystr
from django_otp.plugins.otp_totp.models import TOTPDevice

from properties.models import Company, StaffMember
from properties.services.staff import set_password

# The stock start page lists Django's own log beside the apps; the events are our log.
INDEX_TEMPLATE = (
    '{% extends "admin/index.html" %}{% block sidebar %}'
    '<div id="content-related"><div class="module"><h2>What happened</h2>'
    '<p style="padding: 10px"><a href="{% url "admin:properties_event_changelist" %}">'
    "The company's memory: who did what, newest first</a></p></div></div>{% endblock %}"
)


class CompanyName:
    """Reads as the company's name at the moment when a page is written."""

    def __str__(self) -> str:
        company = Company.objects.only("name").first()
        return company.name if company else "Office"


class OwnPasswordForm(AdminPasswordChangeForm):
    """Changes the password through the service, which remembers that it was changed."""

    user: StaffMember

    def save(self, commit: bool = True) -> StaffMember:
        new = self.cleaned_data["new_password1"]
        set_password(self.user, new, actor=self.user, now=timezone.now())
        return self.user


def change_own_password(
    request: HttpRequest, extra_context: dict[str, Any] | None = None
) -> HttpResponseBase:
    view = PasswordChangeView.as_view(
        form_class=OwnPasswordForm,
        success_url=reverse_lazy("admin:password_change_done"),
        extra_context={**admin.site.each_context(request), **(extra_context or {})},
    )
    return view(request)


admin.site.site_header = lazystr(CompanyName())
admin.site.site_title = "Office"
admin.site.index_title = "Office"
admin.site.site_url = None
# Django takes a template here as well as the name of one.
admin.site.index_template = engines["django"].from_string(INDEX_TEMPLATE)  # type: ignore[assignment]
admin.site.password_change = change_own_password  # type: ignore[assignment,method-assign]
admin.site.unregister(Group)
admin.site.unregister(TOTPDevice)  # its page shows the secrets
