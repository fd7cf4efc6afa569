"""What is looked at on a visit."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from audits.domain.visit_checklists import ChecklistItem
from audits.models import Visit
from audits.models.visits import VISIT_KINDS
from audits.selectors.checklists import VisitChecklist, checklist_of
from audits.selectors.scope import own_visits
from properties.http.permissions import Access
from properties.http.views import UNITS_PARAMETER, requested_units, staff_of
from properties.models.staff import ALL_STAFF


class ChecklistItemSerializer(serializers.Serializer[ChecklistItem]):
    code = serializers.CharField()
    sentence = serializers.CharField()
    is_caution = serializers.BooleanField()


class VisitChecklistSerializer(serializers.Serializer[VisitChecklist]):
    """The items in the order of the visit, cautions first."""

    kind = serializers.ChoiceField(choices=VISIT_KINDS)
    items = ChecklistItemSerializer(many=True)
    binding = serializers.CharField(help_text="What comes before the list.")
    test_runs = serializers.ListField(
        child=serializers.CharField(),
        help_text="Whether the local rules let zones be run to test them on the visit's day.",
    )


class VisitChecklistView(APIView):
    """The checklist of a visit's kind."""

    access = Access(read=ALL_STAFF, write=frozenset())

    @extend_schema(parameters=[UNITS_PARAMETER], responses=VisitChecklistSerializer)
    def get(self, request: Request, pk: UUID) -> Response:
        visits = own_visits(Visit.objects.all(), staff=staff_of(request), now=timezone.now())
        visit = get_object_or_404(visits.select_related("property"), pk=pk)
        checklist = checklist_of(visit, requested_units(request))
        content: dict[str, Any] = VisitChecklistSerializer(checklist).data
        return Response(content)
