"""Hiring: the office signs in with a password, technicians with tokens that the office issues."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import transaction

from properties.domain.errors import InvalidInputError
from properties.models import Role, StaffMember
from properties.services.events import record_event, snapshot


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
    member_id: Any, changes: dict[str, Any], *, actor: StaffMember, now: datetime
) -> StaffMember:
    """Change an account's name, or end or revive it."""
    member = StaffMember.objects.select_for_update().get(pk=member_id)
    if changes:
        before = snapshot(member)
        for name, value in changes.items():
            setattr(member, name, value)
        member.save(update_fields=list(changes))
        after = snapshot(member)
        record_event(member, act="changed", actor=actor, now=now, before=before, after=after)
    return member


@transaction.atomic
def set_password(
    member: StaffMember, password: str, *, actor: StaffMember | None, now: datetime
) -> None:
    """Give an office user a new password."""
    _check_password(member.role, password, email=member.email, name=member.name)
    member.set_password(password)
    member.save(update_fields=["password"])
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
