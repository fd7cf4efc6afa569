"""What the questions about one zone share: the zone that the caller may see, and remarks."""

from __future__ import annotations

from uuid import UUID

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from django.utils import timezone
from rest_framework import serializers
from rest_framework.request import Request

from audits.selectors.remarks import Remark
from audits.selectors.zones import visible_zones
from properties.http.views import staff_of
from properties.models import Zone


def asked_zone(request: Request, pk: UUID) -> Zone:
    """Return the zone with its heads; one that the caller may not see does not exist."""
    zones: QuerySet[Zone] = visible_zones(staff_of(request), timezone.now())
    zone: Zone = get_object_or_404(zones, pk=pk)
    return zone


class RemarkSerializer(serializers.Serializer[Remark]):
    """Why something is unknown or to be taken with care, at which field, and the cure."""

    code = serializers.CharField()
    field = serializers.CharField()
    detail = serializers.CharField()
    remedy = serializers.CharField()
