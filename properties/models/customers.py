"""The people whose gardens these are."""

from __future__ import annotations

import hashlib
from typing import ClassVar, Final

from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.db import models

from properties.models.checks import one_of
from properties.models.company import UNIT_SYSTEMS
from properties.models.rows import Retirable, Row

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


class ErasureReason(models.TextChoices):
    """Why a client was erased."""

    ASKED = "asked", "The client asked for it."
    KEPT_LONG_ENOUGH = "kept-long-enough", "His data was kept as long as it may be."
    MISTAKE = "mistake", "The client was entered by mistake."


class Customer(Retirable, Row):
    """A client. Notices go out only with consent; units default to the company's."""

    unlogged: ClassVar[frozenset[str]] = frozenset(
        {"name", "email", "phone", "consent_note", "reference", "refused_address_sha256"}
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
    erased_at = models.DateTimeField(
        null=True, blank=True, editable=False, help_text="Since when nobody knows who this was."
    )
    erased_for = models.CharField(
        max_length=20, choices=ErasureReason.choices, blank=True, default="", db_default="",
        editable=False,
    )  # fmt: skip

    class Meta:
        ordering = ["name"]
        indexes = [models.Index(fields=["name", "id"], name="customer_by_name")]
        constraints = [
            one_of("relation", Relation.choices),
            one_of("units", [("", ""), *UNIT_SYSTEMS]),
            one_of("language", LANGUAGES),
            one_of("erased_for", [("", ""), *ErasureReason.choices]),
            models.CheckConstraint(
                condition=models.Q(erased_at__isnull=True)
                | models.Q(email="", phone="", wants_notices=False),
                name="customer_erased_has_no_contact",
                violation_error_message="email: this client was erased. Enter a new one instead.",
            ),
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
        if not is_address(self.email):
            return MailBlock.BROKEN_ADDRESS
        refused = self.refused_address_sha256 == address_sha256(self.email)
        return MailBlock.REFUSED_ADDRESS if refused else None


def address_sha256(address: str) -> str:
    """Return by what an address is known again without being kept."""
    return hashlib.sha256(address.strip().lower().encode()).hexdigest()


def is_address(text: str) -> bool:
    try:
        validate_email(text)
    except ValidationError:
        return False
    return True
