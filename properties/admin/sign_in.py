"""The doors of the office's pages: signing in, and setting up a second factor."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib import admin
from django.contrib.admin.forms import AdminAuthenticationForm
from django.contrib.auth.views import LoginView
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.http.response import HttpResponseBase
from django.template import engines
from django.urls import reverse
from django.utils import timezone
from django.utils.decorators import method_decorator
from django.views import View
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import csrf_protect

from properties.domain.errors import DomainError
from properties.http.addresses import client_address
from properties.http.qr_codes import qr_svg
from properties.http.sessions import begin_session, session_lets_in
from properties.services.lockouts import LockedOutError
from properties.services.second_factor import confirm_enrolment
from properties.services.sign_in import begin_enrolment, session_sign_in

PAGE = """{% extends "admin/base_site.html" %}
{% block nav-sidebar %}{% endblock %}{% block nav-breadcrumbs %}{% endblock %}
{% block content %}<div id="content-main">{% for words in lines %}<p>{{ words }}</p>{% endfor %}
{% if picture %}{{ picture }}<p>Without a camera: <code>{{ secret }}</code></p>{% endif %}
{% if codes %}<ul>{% for code in codes %}<li><code>{{ code }}</code></li>{% endfor %}</ul>
<p><a href="{% url "admin:login" %}">Sign in</a></p>{% endif %}
{% if form %}<form method="post">{% csrf_token %}<table>{{ form.as_table }}</table>
<p><input type="submit" value="{{ button }}"></p></form>{% endif %}</div>{% endblock %}"""

SIGN_IN_PAGE = """{% extends "admin/login.html" %}{% block content %}<div id="content-main">
{{ form.non_field_errors }}<form method="post" id="login-form">{% csrf_token %}
{% for field in form %}<div class="form-row">{{ field.errors }}{{ field.label_tag }} {{ field }}
</div>{% endfor %}<input type="hidden" name="next" value="{{ next }}">
<p class="help">A code of your second factor, or a recovery code. No second factor yet?
<a href="{% url "second-factor-page" %}">Set it up</a></p>
<div class="submit-row"><input type="submit" value="Sign in"></div></form></div>{% endblock %}"""


class CodeField(forms.CharField):
    """A code of the second factor."""

    def __init__(self, **options: Any) -> None:
        widget = forms.TextInput(attrs={"autocomplete": "one-time-code", "inputmode": "text"})
        super().__init__(max_length=40, widget=widget, **options)


class OfficeSignInForm(AdminAuthenticationForm):
    """E-mail, password and code, judged together by the service."""

    code = CodeField(
        required=False, help_text="Six digits of your second factor, or a recovery code."
    )

    def clean(self) -> dict[str, Any]:
        values = self.cleaned_data
        self.user_cache = _judged(
            self, session_sign_in, email=values.get("username"), **_secrets_of(values)
        )
        return values


class EnrolmentForm(forms.Form):
    """Who sets up a second factor; one who has one proves it."""

    email = forms.EmailField()
    password = forms.CharField(
        max_length=200, strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )  # fmt: skip
    code = CodeField(
        required=False,
        help_text="Only if you have a second factor already: a code of it, or a recovery code.",
    )

    def __init__(self, *args: Any, request: HttpRequest, **options: Any) -> None:
        self.request = request
        super().__init__(*args, **options)

    def clean(self) -> dict[str, Any]:
        values = self.cleaned_data
        self.begun = _judged(
            self, begin_enrolment, email=values.get("email"), **_secrets_of(values)
        )
        return values


class ConfirmationForm(forms.Form):
    ticket = forms.CharField(max_length=200, widget=forms.HiddenInput)
    code = CodeField(label="First code")

    def clean(self) -> dict[str, Any]:
        values = self.cleaned_data
        if not self.errors:
            try:
                _, self.codes = confirm_enrolment(
                    ticket=values["ticket"], code=values["code"], now=timezone.now()
                )
            except DomainError as refusal:
                raise ValidationError(f"{refusal.detail} {refusal.remedy}") from refusal
        return values


class OfficeSignInView(LoginView):
    """Signs in by the form above, and opens a session that says so."""

    authentication_form = OfficeSignInForm

    def form_valid(self, form: Any) -> HttpResponse:
        begin_session(self.request, form.get_user(), now=timezone.now())
        return HttpResponseRedirect(self.get_success_url())

    def get_default_redirect_url(self) -> str:
        return reverse("admin:index")

    def get_template_names(self) -> Any:
        return engines["django"].from_string(SIGN_IN_PAGE)

    def render_to_response(self, context: Any, **options: Any) -> Any:
        return _answer(super().render_to_response(context, **options), context["form"])


@method_decorator([never_cache, csrf_protect], name="dispatch")
class SecondFactorPage(View):
    """Sets up a second factor in two steps: who you are, then the first code."""

    def get(self, request: HttpRequest) -> Any:
        return _first_step(request, EnrolmentForm(request=request))

    def post(self, request: HttpRequest) -> Any:
        return _confirm(request) if "ticket" in request.POST else _begin(request)


def has_permission(request: HttpRequest) -> bool:
    """Return whether the office's pages are open to this session."""
    return session_lets_in(request.session, request.user)


def sign_in(request: HttpRequest, extra_context: dict[str, Any] | None = None) -> HttpResponseBase:
    index = reverse("admin:index", current_app=admin.site.name)
    if request.method == "GET" and has_permission(request):
        return HttpResponseRedirect(index)
    context = {
        **admin.site.each_context(request), "title": "Sign in", "username": "",
        "app_path": request.get_full_path(), "next": request.GET.get("next", index),
        **(extra_context or {}),
    }  # fmt: skip
    return OfficeSignInView.as_view(extra_context=context)(request)


def _begin(request: HttpRequest) -> Any:
    form = EnrolmentForm(request.POST, request=request)
    if not form.is_valid():
        return _first_step(request, form)
    begun = form.begun
    return _page(
        request, "Put this into your authenticator, then type the first code that it shows.",
        picture=qr_svg(begun.uri), secret=begun.secret, button="Confirm",
        form=ConfirmationForm(initial={"ticket": begun.ticket}),
    )  # fmt: skip


def _confirm(request: HttpRequest) -> HttpResponse:
    form = ConfirmationForm(request.POST)
    if not form.is_valid():
        return _page(request, form=form, button="Confirm")
    return _page(
        request, "Your second factor is set up, and what you were signed in with has ended.",
        "Keep these recovery codes where no one else looks. They are shown only now; each stands"
        " once for a code when your authenticator is lost.",
        codes=form.codes,
    )  # fmt: skip


def _first_step(request: HttpRequest, form: EnrolmentForm) -> Any:
    words = "An office user signs in with a password and a code that changes each half minute."
    return _answer(_page(request, words, form=form, button="Go on"), form)


def _page(request: HttpRequest, *lines: str, **content: Any) -> HttpResponse:
    context = {**admin.site.each_context(request), "title": "Second factor", "lines": lines}
    page = engines["django"].from_string(PAGE)
    return HttpResponse(page.render({**context, **content}, request))


def _secrets_of(values: dict[str, Any]) -> dict[str, str]:
    return {name: values.get(name) or "" for name in ("password", "code")}


def _judged(form: Any, judge: Any, *, email: str | None, **secrets: str) -> Any:
    """Ask the service; its refusal is one of the whole form."""
    if form.errors:
        return None
    try:
        return judge(
            email=email, **secrets, address=client_address(form.request), now=timezone.now()
        )
    except DomainError as refusal:
        form.refusal = refusal
        raise ValidationError(f"{refusal.detail} {refusal.remedy}") from refusal


def _answer(response: Any, form: Any) -> Any:
    """Answer a door that is shut as HTTP has it, with the page all the same."""
    refusal = getattr(form, "refusal", None)
    if isinstance(refusal, LockedOutError):
        response.status_code = 429
        response["Retry-After"] = str(refusal.retry_after_s)
    return response


admin.site.login = sign_in  # type: ignore[method-assign,assignment]
admin.site.has_permission = has_permission  # type: ignore[method-assign]
