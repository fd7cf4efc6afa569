"""The people whose gardens these are."""

from __future__ import annotations

import hashlib
from typing import ClassVar, Final

from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.db import models

from properties.models.checks import one_of
from properties.models.company import UNIT_SYSTEMS
from properties.models.rows import Row

LANGUAGES: Final[list[tuple[str, str]]] = [("en", "English")]


class Relation(models.TextChoices):
    OWNER = "owner", "Owner"
    TENANT = "tenant", "Tenant"
    MANAGER = "manager", "Manager"


class MailBlock(models.TextChoices):
    """Why a client gets no mail."""

    UNSUBSCRIBED = "unsubscribed", "The client stopped the notices."
    NO_CONSENT = "no-consent", "The client never agreed to notices."
    NO_ADDRESS = "no-address", "No e-mail address is on file."
    BROKEN_ADDRESS = "broken-address", "The e-mail address cannot be one."
    REFUSED_ADDRESS = "refused-address", "The mail server refused the address for good."


class Customer(Row):
    """A client. Notices go out only with consent; units default to the company's."""

    unlogged: ClassVar[frozenset[str]] = frozenset(
        {"name", "email", "phone", "refused_address_sha256"}
    )

    name = models.CharField(max_length=200)
    relation = models.CharField(max_length=20, choices=Relation.choices, default=Relation.OWNER)
    email = models.EmailField(blank=True)
    phone = models.CharField(max_length=40, blank=True)
    language = models.CharField(max_length=10, choices=LANGUAGES, default="en")
    units = models.CharField(
        max_length=10, choices=UNIT_SYSTEMS, blank=True, help_text="Empty: as the company."
    )
    wants_notices = models.BooleanField(
        default=False, help_text="The client agreed to get watering notices by e-mail."
    )
    consent_note = models.CharField(
        max_length=200, blank=True, default="", db_default="",
        help_text="How the client agreed: on paper, by telephone, and when.",
    )  # fmt: skip
    unsubscribed_at = models.DateTimeField(
        null=True, blank=True, editable=False, help_text="When the client last stopped them."
    )
    refused_address_sha256 = models.CharField(
        max_length=64, blank=True, default="", db_default="", editable=False,
        help_text="Of the address that the mail server refused for good.",
    )  # fmt: skip
    reference = models.CharField(
        max_length=60, blank=True, help_text="The client's number in your books."
    )

    class Meta:
        ordering = ["name"]
        constraints = [
            one_of("relation", Relation.choices),
            one_of("units", [("", ""), *UNIT_SYSTEMS]),
            one_of("language", LANGUAGES),
            models.UniqueConstraint(
                fields=["reference"],
                condition=~models.Q(reference=""),
                name="customer_reference_once",
                violation_error_message="reference: another customer has this reference.",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def mail_block(self) -> MailBlock | None:
        """Return why this client gets no mail now, or None."""
        if not self.wants_notices:
            return MailBlock.UNSUBSCRIBED if self.unsubscribed_at else MailBlock.NO_CONSENT
        if not self.email:
            return MailBlock.NO_ADDRESS
        if not _is_address(self.email):
            return MailBlock.BROKEN_ADDRESS
        refused = self.refused_address_sha256 == address_sha256(self.email)
        return MailBlock.REFUSED_ADDRESS if refused else None


def address_sha256(address: str) -> str:
    """Return by what an address is known again without being kept."""
    return hashlib.sha256(address.strip().lower().encode()).hexdigest()


def _is_address(text: str) -> bool:
    try:
        validate_email(text)
    except ValidationError:
        return False
    return True
