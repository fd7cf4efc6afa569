"""The two ways in which the product says no: what was sent is wrong, or a rule forbids it now."""

from __future__ import annotations


class DomainError(Exception):
    """A refusal that a person can act on: what is wrong, where, and what cures it."""

    def __init__(self, detail: str, *, code: str, remedy: str, field: str = "") -> None:
        super().__init__(detail)
        self.detail = detail
        self.code = code
        self.remedy = remedy
        self.field = field

    def __str__(self) -> str:
        where = f"{self.field}: " if self.field else ""
        return f"{where}{self.detail} {self.remedy}"


class InvalidInputError(DomainError, ValueError):
    """The value itself cannot be right, whatever the state of the world (HTTP 400)."""

    def __init__(self, detail: str, *, field: str, remedy: str, code: str = "invalid") -> None:
        super().__init__(detail, code=code, remedy=remedy, field=field)


class RefusedError(DomainError):
    """The value may be right, but a rule or the present state forbids the act (HTTP 409)."""


class StaleError(RefusedError):
    """What was read is no longer so: somebody else changed it in the meantime (HTTP 412)."""

    def __init__(self, *, revision: int) -> None:
        super().__init__(
            f"Somebody else changed this in the meantime: it is at revision {revision} now.",
            code="changed-meanwhile", remedy="Read it again, then repeat your change.",
        )  # fmt: skip
        self.revision = revision


class KeyReusedError(RefusedError):
    """A key that stands for one request was sent with another one (HTTP 422)."""
