"""Documents to list and to fetch; they leave only through the scope check."""

from __future__ import annotations

from typing import Any, ClassVar
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from audits.models import Visit
from audits.selectors.scope import own_visits
from properties.http.idempotency import KEY, KeyedPosts
from properties.http.jobs import JobSerializer
from properties.http.permissions import Access
from properties.http.views import ReadViewSet, staff_of
from properties.models.staff import ALL_STAFF
from reports.api.filters import DocumentFilters
from reports.models import Document
from reports.services.documents import ask_for_audit_summary


class DocumentSerializer(serializers.ModelSerializer[Document]):
    class Meta:
        model = Document
        fields = (
            "id", "kind", "property", "visit", "notice", "number", "title", "sha256", "size_bytes",
            "created_at",
        )  # fmt: skip


class DocumentViewSet(ReadViewSet[Document]):
    access = Access(read=ALL_STAFF, write=frozenset())
    queryset = Document.objects.defer("pdf")
    serializer_class = DocumentSerializer
    property_path: ClassVar[str | None] = "property"
    filterset_class = DocumentFilters

    @extend_schema(responses={(200, "application/pdf"): OpenApiTypes.BINARY})
    @action(detail=True)
    def pdf(self, request: Request, pk: str) -> HttpResponse:
        """The bytes as they were rendered."""
        document = self.get_object()
        response = HttpResponse(bytes(document.pdf), content_type="application/pdf")
        response["Content-Disposition"] = (
            f'inline; filename="{document.kind}-{document.number}.pdf"'
        )
        response["Cache-Control"] = "private, no-store"
        response["ETag"] = f'"{document.sha256}"'
        return response


class MakeAuditSummaryView(KeyedPosts):
    """Have the audit summary of a finished visit made, in the background."""

    access = Access(read=frozenset(), write=ALL_STAFF)
    needs_key = True

    @extend_schema(parameters=[KEY], request=None, responses={202: JobSerializer})
    def post(self, request: Request, pk: UUID) -> Response:
        staff, now = staff_of(request), timezone.now()
        visit = get_object_or_404(own_visits(Visit.objects.all(), staff=staff, now=now), pk=pk)
        job = ask_for_audit_summary(visit, actor=staff, now=now)
        content: dict[str, Any] = JobSerializer(job).data
        return Response(content, status=status.HTTP_202_ACCEPTED)
