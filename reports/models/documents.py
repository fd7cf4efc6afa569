"""Documents as they were handed out: bytes, hash and revision."""

from __future__ import annotations

from django.db import models

from audits.models import Visit
from properties.models import Property, Row
from properties.models.checks import one_of
from scheduling.models import Notice


class DocumentKind(models.TextChoices):
    AUDIT_SUMMARY = "audit_summary", "Audit summary"
    NOTICE_SHEET = "notice_sheet", "Sheet of a notice"


class Document(Row):
    """One revision of a document; a changed one is a new revision, the old one stays.

    It belongs to the visit, or to the notice, that it was made for.
    """

    kind = models.CharField(max_length=30, choices=DocumentKind.choices)
    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="documents")
    visit = models.ForeignKey(
        Visit, on_delete=models.PROTECT, null=True, blank=True, related_name="documents"
    )
    notice = models.OneToOneField(
        Notice, on_delete=models.PROTECT, null=True, blank=True, related_name="sheet"
    )
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
            models.CheckConstraint(
                condition=models.Q(visit__isnull=False, notice__isnull=True)
                | models.Q(visit__isnull=True, notice__isnull=False),
                name="document_of_visit_or_notice",
                violation_error_message="visit: a document belongs to a visit or to a notice.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.title} (revision {self.number})"
