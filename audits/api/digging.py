"""When holes may be dug, and when to tell the line-marking service."""

from __future__ import annotations

from datetime import date
from typing import Any, Final

from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from audits.selectors.digging import DiggingDates, digging_dates, notice_dates
from properties.http.permissions import Access
from properties.http.serializers import StrictSerializer
from properties.models.staff import ALL_STAFF
from properties.selectors.company import the_company

# A year beyond these is a slip of the keyboard.
FIRST_DATE: Final = date(2000, 1, 1)
LAST_DATE: Final = date(2100, 12, 31)


class DiggingQuery(StrictSerializer):
    """One of the two days."""

    notice_date = serializers.DateField(required=False)
    digging_date = serializers.DateField(required=False)

    def validate_notice_date(self, day: date) -> date:
        return _believed(day)

    def validate_digging_date(self, day: date) -> date:
        return _believed(day)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        if len(attrs) != 1:
            name = "digging_date" if attrs else "notice_date"
            raise serializers.ValidationError(
                {name: "Give the day of the notice or the day of the digging, one of them."}
            )
        return attrs


class DiggingDatesSerializer(serializers.Serializer[DiggingDates]):
    """Of a notice the days to dig; of a digging the days to give notice. Both ends are included."""

    first_date = serializers.DateField(source="window.first")
    last_date = serializers.DateField(source="window.last")
    business_days = serializers.IntegerField(source="rule.business_days")
    longest_days = serializers.IntegerField(source="rule.longest_days")
    rule = serializers.CharField(source="rule.source")
    cautions = serializers.ListField(child=serializers.CharField())


class DiggingWindowView(APIView):
    """The days to dig after a notice, or the days to give notice before a digging."""

    access = Access(read=ALL_STAFF, write=frozenset())

    @extend_schema(
        parameters=[
            OpenApiParameter("notice_date", date, description="Answers when digging may begin."),
            OpenApiParameter("digging_date", date, description="Answers when to give notice."),
        ],
        responses=DiggingDatesSerializer,
    )
    def get(self, request: Request) -> Response:
        query = DiggingQuery(data=request.query_params.dict())
        query.is_valid(raise_exception=True)
        company, days = the_company(), query.validated_data
        if "notice_date" in days:
            dates = digging_dates(company, days["notice_date"])
        else:
            dates = notice_dates(company, days["digging_date"])
        return Response(DiggingDatesSerializer(dates).data)


def _believed(day: date) -> date:
    if not FIRST_DATE <= day <= LAST_DATE:
        raise serializers.ValidationError("Give a day from 2000 to 2100.")
    return day
