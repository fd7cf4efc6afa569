"""The people whose gardens these are."""

from __future__ import annotations

from typing import ClassVar, Final

from django.db import models

from properties.models.checks import one_of
from properties.models.company import UNIT_SYSTEMS
from properties.models.rows import Row

LANGUAGES: Final[list[tuple[str, str]]] = [("en", "English")]


class Relation(models.TextChoices):
    OWNER = "owner", "Owner"
    TENANT = "tenant", "Tenant"
    MANAGER = "manager", "Manager"


class Customer(Row):
    """A client. Notices go out only with consent; units default to the company's."""

    unlogged: ClassVar[frozenset[str]] = frozenset({"name", "email", "phone"})

    name = models.CharField(max_length=200)
    relation = models.CharField(max_length=20, choices=Relation.choices, default=Relation.OWNER)
    email = models.EmailField(blank=True)
    phone = models.CharField(max_length=40, blank=True)
    language = models.CharField(max_length=10, choices=LANGUAGES, default="en")
    units = models.CharField(
        max_length=10, choices=UNIT_SYSTEMS, blank=True, help_text="Empty: as the company."
    )
    wants_notices = models.BooleanField(default=False)
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
