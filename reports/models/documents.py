"""Documents as they were handed out: bytes, hash and revision."""

from __future__ import annotations

from django.db import models

from audits.models import Visit
from properties.models import Property, Row
from properties.models.checks import one_of


class DocumentKind(models.TextChoices):
    AUDIT_SUMMARY = "audit_summary", "Audit summary"


class Document(Row):
    """One revision of a document; a changed one is a new revision, the old one stays."""

    kind = models.CharField(max_length=30, choices=DocumentKind.choices)
    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="documents")
    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="documents")
    number = models.PositiveIntegerField(help_text="Counts the revisions from 1.")
    title = models.CharField(max_length=300)
    content_digest = models.CharField(max_length=64)
    sha256 = models.CharField(max_length=64)
    size_bytes = models.PositiveIntegerField()
    pdf = models.BinaryField()

    class Meta:
        ordering = ["-id"]
        constraints = [
            one_of("kind", DocumentKind.choices),
            models.UniqueConstraint(
                fields=["visit", "kind", "number"], name="document_revision_once"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.title} (revision {self.number})"
