"""A job as every app that answers 202 shows it."""

from __future__ import annotations

from rest_framework import serializers

from properties.models import Job


class JobSerializer(serializers.ModelSerializer[Job]):
    class Meta:
        model = Job
        fields = (
            "id", "kind", "subject_id", "state", "attempts", "created_at", "due_at", "ended_at",
            "result", "problem",
        )  # fmt: skip
