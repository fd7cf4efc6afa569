"""Remarks about a controller's setting as they go out."""

from __future__ import annotations

from rest_framework import serializers

from audits.domain.program_remarks import ProgramRemark


class ProgramRemarkSerializer(serializers.Serializer[ProgramRemark]):
    """What is wrong, what it means for the water, and what cures it.

    Without programs it is about the controller as a whole.
    """

    code = serializers.CharField()
    sentence = serializers.CharField()
    effect = serializers.CharField()
    remedy = serializers.CharField()
    programs = serializers.ListField(child=serializers.CharField())
    zones = serializers.ListField(child=serializers.UUIDField())
