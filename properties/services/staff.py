"""Hiring: the office signs in with a password, technicians with tokens that the office issues."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.contrib.auth.hashers import make_password
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import transaction

from properties.domain.errors import InvalidInputError, RefusedError
from properties.models import Role, StaffMember
from properties.services.events import record_event, snapshot
from properties.services.plain_rows import change_plain_row
from properties.services.retirement import refuse_while_in_use
from properties.services.second_factor import end_sign_ins


@transaction.atomic
def add_staff_member(
    *,
    email: str,
    name: str,
    role: str,
    password: str | None,
    actor: StaffMember | None,
    now: datetime,
) -> StaffMember:
    """Make an account; an office user needs a password, a technician must not have one."""
    _check_password(role, password, email=email, name=name)
    member = StaffMember.objects.create_user(email, password, name=name, role=role)
    record_event(member, act="created", actor=actor, now=now, after=snapshot(member))
    return member


@transaction.atomic
def change_staff_member(
    member: StaffMember,
    changes: Mapping[str, Any],
    *,
    read_revision: int | None = None,
    actor: StaffMember,
    now: datetime,
) -> StaffMember:
    """Change an account's name, address or role, or end or revive it.

    Who becomes an office user gets a password with it; who becomes a technician loses his. Nobody
    ends himself, so that the last office user stays.
    """
    values = dict(changes)
    role, is_ending = values.get("role", member.role), values.get("is_active") is False
    if member == actor and (is_ending or role != actor.role):
        raise RefusedError(
            "You would lock yourself out.",
            code="own-account", field="is_active" if is_ending else "role",
            remedy="Ask a colleague of the office.",
        )  # fmt: skip
    if is_ending and member.is_active:
        refuse_while_in_use(member)
    if "email" in values:
        values["email"] = values["email"].strip().lower()
    password = values.pop("password", None)
    if role != member.role:
        values |= _of_new_role(member, role, password)
    elif password is not None:
        raise InvalidInputError(
            "A password comes with a new role alone.",
            field="password", remedy="Let the person set a new one when signing in.",
        )  # fmt: skip
    return change_plain_row(member, values, read_revision=read_revision, actor=actor, now=now)


def _of_new_role(member: StaffMember, role: str, password: str | None) -> dict[str, Any]:
    if role == Role.TECHNICIAN:
        refused = {"password": make_password(None), "is_superuser": False}
        _check_password(role, password, email=member.email, name=member.name)
        return refused
    _check_password(role, password, email=member.email, name=member.name)
    return {"password": make_password(password)}


@transaction.atomic
def set_password(
    member: StaffMember, password: str, *, actor: StaffMember | None, now: datetime
) -> None:
    """Give an office user a new password; one that somebody else gives ends what is signed in."""
    _check_password(member.role, password, email=member.email, name=member.name)
    member.set_password(password)
    member.save(update_fields=["password"])
    if actor is None or actor.pk != member.pk:
        end_sign_ins(member, now=now)
    record_event(member, act="password set", actor=actor, now=now)


def _check_password(role: str, password: str | None, *, email: str, name: str) -> None:
    if role != Role.OFFICE:
        if password is not None:
            raise InvalidInputError(
                "Technicians sign in with device tokens, not with a password.",
                field="password", remedy="Leave the password out and issue a token.",
            )  # fmt: skip
        return
    if not password:
        raise InvalidInputError(
            "An office user needs a password.", field="password", remedy="Send a password."
        )
    try:
        validate_password(password, StaffMember(email=email, name=name))
    except ValidationError as error:
        raise InvalidInputError(
            " ".join(error.messages), field="password", remedy="Choose a longer, less common one."
        ) from error
