"""Default deny: a view without a declared access answers nobody."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from rest_framework.permissions import SAFE_METHODS, BasePermission
from rest_framework.request import Request

from properties.models import TokenKind


@dataclass(frozen=True)
class Access:
    """Which roles may read and which may write; `acts` overrides it for named view actions.

    What is `by_person` is written by whoever signed in himself: a program's token, which may lie
    in a file somewhere, makes no accounts and no other tokens.
    """

    read: frozenset[str]
    write: frozenset[str]
    acts: tuple[tuple[str, frozenset[str]], ...] = ()
    by_person: bool = False

    def roles_for(self, method: str, act: str) -> frozenset[str]:
        """Return the roles that may use this method of this view action."""
        return dict(self.acts).get(act, self.read if method in SAFE_METHODS else self.write)


class DeclaredAccess(BasePermission):
    """Lets in whom the view's `access` names."""

    message = "Your role may not do this."
    by_person_message = "A program's token may not do this. Sign in yourself."

    def has_permission(self, request: Request, view: Any) -> bool:
        access: Access | None = getattr(view, "access", None)
        role = getattr(request.user, "role", None)
        if access is None or role is None:
            return False
        if access.by_person and request.method not in SAFE_METHODS and _is_program(request):
            self.message = self.by_person_message
            return False
        return role in access.roles_for(request.method or "", getattr(view, "action", "") or "")


def _is_program(request: Request) -> bool:
    return getattr(request.auth, "kind", "") == TokenKind.PROGRAM
