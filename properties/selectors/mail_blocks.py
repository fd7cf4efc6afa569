"""Clients who can not be mailed, and why: as `Customer.mail_block` says it, by the database."""

from __future__ import annotations

from typing import Any, Final

from django.db.models import F, Func, Q, QuerySet, TextField
from django.db.models.functions import Length, Lower, Trim

from properties.models import Customer
from properties.models.customers import MailBlock, is_address

# Narrower than what an address may be: what does not fit is looked at one by one.
PLAIN_ADDRESS: Final = (
    r"^[A-Za-z0-9_+-]+(\.[A-Za-z0-9_+-]+)*@([A-Za-z0-9]+(-[A-Za-z0-9]+)*\.)+[A-Za-z][A-Za-z]+\Z"
)
"""Its end is `\\Z`: to Python, a dollar also stands before a last line break."""
PLAIN_LENGTH: Final = 60
"""Below what a part of a domain may be long, so that the pattern need not count."""


class _Sha256(Func):
    """Of a text, in hexadecimal; PostgreSQL needs no extension for it."""

    function = "SHA256"
    output_field = TextField()

    def as_postgresql(self, compiler: Any, connection: Any, **context: Any) -> Any:
        template = "ENCODE(SHA256(CONVERT_TO(%(expressions)s, 'UTF8')), 'hex')"
        return self.as_sql(compiler, connection, template=template, **context)


def blocked_by(rows: QuerySet[Customer], block: MailBlock) -> QuerySet[Customer]:
    """Narrow clients to those whom this keeps from being mailed."""
    wanting = Q(wants_notices=True)
    if block is MailBlock.UNSUBSCRIBED:
        return rows.filter(~wanting, unsubscribed_at__isnull=False)
    if block is MailBlock.NO_CONSENT:
        return rows.filter(~wanting, unsubscribed_at__isnull=True)
    if block is MailBlock.NO_ADDRESS:
        return rows.filter(wanting, email="")
    if block is MailBlock.BROKEN_ADDRESS:
        return rows.filter(wanting, pk__in=_broken(rows))
    return _refused(rows).exclude(pk__in=_broken(_refused(rows)))


def mailable(rows: QuerySet[Customer], *, can_be_mailed: bool) -> QuerySet[Customer]:
    """Narrow clients to those whom notices reach, or to those whom none reaches."""
    reached = Q(wants_notices=True) & ~Q(email="") & ~Q(pk__in=_broken(rows))
    reached &= ~Q(pk__in=_refused(Customer.objects.all()).values("pk"))
    return rows.filter(reached if can_be_mailed else ~reached)


def _refused(rows: QuerySet[Customer]) -> QuerySet[Customer]:
    """Narrow clients to those whose address is the one that a server refused for good."""
    known = rows.filter(wants_notices=True).exclude(refused_address_sha256="").exclude(email="")
    return known.filter(refused_address_sha256=_Sha256(Lower(Trim(F("email")))))


def _broken(rows: QuerySet[Customer]) -> list[Any]:
    """Return the clients whose address cannot be one; only odd ones are looked at."""
    wanting = rows.filter(wants_notices=True).exclude(email="").annotate(length=Length("email"))
    odd = wanting.exclude(email__regex=PLAIN_ADDRESS, length__lte=PLAIN_LENGTH)
    pairs = odd.order_by().values_list("pk", "email")
    return [pk for pk, email in pairs if not is_address(email)]
