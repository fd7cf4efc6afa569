"""Making documents: stored once for each content, as a new revision when it changed."""

from __future__ import annotations

import hashlib
from dataclasses import replace
from datetime import datetime
from typing import Any, Final
from uuid import UUID

from django.db import transaction

from audits.models import Visit, VisitState
from properties.domain.errors import RefusedError
from properties.models import Job, StaffMember
from properties.services.jobs import ask_for
from properties.services.rows import add_row
from reports.domain.audit_summary import AuditSummary
from reports.models import Document, DocumentKind
from reports.pdf.audit_summary import render_audit_summary
from reports.selectors.audit_summary import audit_summary_of

AUDIT_SUMMARY_JOB: Final = "audit-summary"


def ask_for_audit_summary(visit: Visit, *, actor: StaffMember, now: datetime) -> Job:
    """Have the summary of a finished visit made in the background."""
    if visit.state != VisitState.FINISHED:
        raise RefusedError(
            f"The visit is {visit.get_state_display().lower()}.",
            code="visit-state", field="visit", remedy="Finish the visit, then ask again.",
        )  # fmt: skip
    return ask_for(AUDIT_SUMMARY_JOB, visit.pk, asked_by=actor, now=now)


@transaction.atomic
def make_audit_summary(visit_id: UUID, now: datetime) -> dict[str, Any]:
    """Do the background job: store a new revision, unless the content is that of the newest one."""
    visit = Visit.objects.select_for_update(of=("self",)).get(pk=visit_id)
    content = audit_summary_of(visit)
    digest = hashlib.sha256(repr(content).encode()).hexdigest()
    newest = _newest(visit)
    if newest is None or newest.content_digest != digest:
        number = newest.number + 1 if newest else 1
        newest = _store(visit, replace(content, revision=number), digest, now)
    return {"document": str(newest.pk), "revision": newest.number}


def _newest(visit: Visit) -> Document | None:
    rows = Document.objects.filter(visit=visit, kind=DocumentKind.AUDIT_SUMMARY)
    return rows.defer("pdf").order_by("-number").first()


def _store(visit: Visit, content: AuditSummary, digest: str, now: datetime) -> Document:
    pdf = render_audit_summary(content)
    values = {
        "kind": DocumentKind.AUDIT_SUMMARY,
        "property": visit.property,
        "visit": visit,
        "number": content.revision,
        "title": f"Audit of {content.property_name}"[:300],
        "content_digest": digest,
        "sha256": hashlib.sha256(pdf).hexdigest(),
        "size_bytes": len(pdf),
        "pdf": pdf,
    }
    return add_row(Document, values, actor=None, now=now, act="rendered")
