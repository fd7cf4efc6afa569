"""The pages of the staff: accounts, passwords (in, never out) and device tokens."""

from __future__ import annotations

from typing import Any, ClassVar

from django import forms
from django.contrib import admin, messages
from django.contrib.auth import update_session_auth_hash
from django.db.models import QuerySet
from django.http import HttpRequest
from django.utils import timezone
from django.utils.html import format_html

from properties.http.office_admin import OfficeAdmin, ReadOnlyAdmin, RowsToSee, staff_of, try_each
from properties.http.office_forms import OfficeForm
from properties.models import AccessToken, Licence, Role, StaffMember
from properties.services.lockouts import unlock
from properties.services.second_factor import reset_second_factor
from properties.services.sign_in import issue_device_token, revoke_token
from properties.services.staff import add_staff_member, change_staff_member, set_password


class StaffForm(OfficeForm):
    field_names: ClassVar[dict[str, str]] = {"password": "new_password"}

    new_password = forms.CharField(
        required=False,
        strip=False,
        max_length=200,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
        help_text="Of an office user: 12 characters or more. Technicians sign in with tokens.",
    )


class LicencesToSee(RowsToSee):
    model = Licence
    fields = ("kind", "number", "valid_from", "valid_until")


@admin.register(StaffMember)
class StaffAdmin(OfficeAdmin):
    form = StaffForm
    list_display = ("name", "email", "role", "is_active", "second_factor_at", "last_login")
    list_filter = ("role", "is_active")
    search_fields = ("name", "email")
    inlines = (LicencesToSee,)
    actions = ("unlock_chosen", "reset_second_factors")

    def get_fields(self, request: HttpRequest, obj: Any = None) -> Any:
        if obj is None:
            return ("name", "email", "role", "new_password")
        password = ("new_password",) if obj.role == Role.OFFICE else ()
        return (
            "name",
            "email",
            "role",
            "is_active",
            *password,
            "second_factor_at",
            "joined_at",
            "last_login",
        )

    def get_readonly_fields(self, request: HttpRequest, obj: Any = None) -> Any:
        if obj is None:
            return ()
        own = ("is_active",) if obj == request.user else ()  # nobody locks himself out
        return ("email", "role", "second_factor_at", "joined_at", "last_login", *own)

    def save_model(self, request: HttpRequest, obj: Any, form: Any, change: bool) -> None:
        actor, now = staff_of(request), timezone.now()
        values = dict(form.cleaned_data)
        password = values.pop("new_password") or None
        if not change:
            member = add_staff_member(**values, password=password, actor=actor, now=now)
            obj.pk = member.pk
            return
        changes = {name: values[name] for name in form.changed_data if name in values}
        member = change_staff_member(
            StaffMember.objects.get(pk=obj.pk), changes, actor=actor, now=now
        )
        if password:
            set_password(member, password, actor=actor, now=now)
        if member == actor:
            update_session_auth_hash(request, member)

    @admin.action(description="Unlock the chosen accounts after failed sign-ins")
    def unlock_chosen(self, request: HttpRequest, rows: QuerySet[StaffMember]) -> None:
        actor, now = staff_of(request), timezone.now()
        try_each(
            request, rows, lambda member: unlock(member, actor=actor, now=now),
            done="may try again to sign in",
        )  # fmt: skip

    @admin.action(description="Reset the second factor of the chosen accounts")
    def reset_second_factors(self, request: HttpRequest, rows: QuerySet[StaffMember]) -> None:
        actor, now = staff_of(request), timezone.now()
        try_each(
            request, rows, lambda member: reset_second_factor(member, actor=actor, now=now),
            done="must set up a new second factor",
        )  # fmt: skip


@admin.register(AccessToken)
class AccessTokenAdmin(ReadOnlyAdmin):
    list_display = (
        "label", "kind", "staff", "created_at", "last_used_at", "expires_at", "revoked_at",
    )  # fmt: skip
    list_filter = (("revoked_at", admin.EmptyFieldListFilter), "kind", "staff__role")
    list_select_related = ("staff",)
    search_fields = ("label", "staff__name", "staff__email")
    actions = ("revoke",)

    def has_add_permission(self, request: HttpRequest) -> bool:
        return True

    def get_fields(self, request: HttpRequest, obj: Any = None) -> Any:
        made = ("kind", "created_at", "last_used_at", "expires_at", "revoked_at") if obj else ()
        return ("staff", "label", *made)

    def formfield_for_foreignkey(self, db_field: Any, request: HttpRequest, **kwargs: Any) -> Any:
        active = StaffMember.objects.filter(is_active=True)
        kwargs["queryset"] = active.filter(role=Role.TECHNICIAN)
        return super().formfield_for_foreignkey(db_field, request, **kwargs)

    def save_model(self, request: HttpRequest, obj: Any, form: Any, change: bool) -> None:
        token, secret = issue_device_token(
            **form.cleaned_data, actor=staff_of(request), now=timezone.now()
        )
        obj.pk = token.pk
        words = "Put this token into the device now; it is shown only once: <code>{}</code>"
        messages.warning(request, format_html(words, secret))

    @admin.action(description="Revoke the chosen tokens")
    def revoke(self, request: HttpRequest, rows: QuerySet[AccessToken]) -> None:
        actor, now = staff_of(request), timezone.now()
        try_each(
            request, rows, lambda token: revoke_token(token, actor=actor, now=now),
            done="revoked",
        )  # fmt: skip
