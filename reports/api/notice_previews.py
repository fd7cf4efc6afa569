"""What would go out to a property if its monthly notice went out now, to the last byte."""

from __future__ import annotations

import base64
import datetime as dt
from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from properties.http.permissions import Access
from properties.models import Property
from properties.models.staff import OFFICE_ONLY
from reports.services.notice_previews import NoticePreview, preview_monthly


class NoticePreviewSerializer(serializers.Serializer[Any]):
    period = serializers.DateField()
    would_go_out = serializers.BooleanField()
    why_not = serializers.CharField(help_text="Empty if it would go out.")
    subject = serializers.CharField()
    text = serializers.CharField()
    html = serializers.CharField()
    calendar = serializers.CharField(help_text="iCalendar; empty without an entry.")
    pdf = serializers.SerializerMethodField(help_text="Base64.")

    def get_pdf(self, preview: NoticePreview) -> str:
        return base64.b64encode(preview.pdf).decode()


class MonthQuery(serializers.Serializer[Any]):
    period = serializers.DateField(required=False)

    def validate_period(self, period: dt.date) -> dt.date:
        if period.day != 1:
            raise serializers.ValidationError("Give the first day of a month, such as 2026-07-01.")
        return period


class NoticePreviewView(APIView):
    """The monthly notice of a property as it would go out; nothing is queued."""

    access = Access(read=OFFICE_ONLY, write=frozenset())

    @extend_schema(
        parameters=[
            OpenApiParameter(
                "period", dt.date, description="First day of the month; the one due when absent."
            )
        ],
        responses=NoticePreviewSerializer,
    )
    def get(self, request: Request, pk: UUID) -> Response:
        query = MonthQuery(data=request.query_params)
        query.is_valid(raise_exception=True)
        garden = get_object_or_404(Property.objects.select_related("customer"), pk=pk)
        period = query.validated_data.get("period")
        preview = preview_monthly(garden, period, now=timezone.now())
        return Response(NoticePreviewSerializer(preview).data)
