"""Past weather asked: replays of ways of watering, and whether a change saved what it promised."""

from __future__ import annotations

from typing import Any, ClassVar
from uuid import UUID

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers, status
from rest_framework.request import Request
from rest_framework.response import Response

from properties.http.idempotency import KEY, KeyedPosts
from properties.http.jobs import JobSerializer
from properties.http.permissions import Access
from properties.http.views import ReadViewSet, staff_of
from properties.models import Property
from properties.models.staff import ALL_STAFF, OFFICE_ONLY
from properties.selectors.scope import visible_properties
from scheduling.api.filters import ReplayFilters
from scheduling.api.replay_answers import ReplayAnswerSerializer
from scheduling.api.replay_serializers import AskReplaySerializer, VariantSerializer, question_of
from scheduling.models import Replay
from scheduling.selectors.replays import REPLAY_STATES, without_answers
from scheduling.services.replays import ask_for_replay, state_of


class ReplayAskedSerializer(serializers.Serializer[Any]):
    replay = serializers.UUIDField()
    job = JobSerializer()


class ReplaySerializer(serializers.ModelSerializer[Replay]):
    state = serializers.SerializerMethodField()
    first_year = serializers.IntegerField(source="asked.first_year", allow_null=True)
    last_year = serializers.IntegerField(source="asked.last_year", allow_null=True)
    variants = serializers.SerializerMethodField(help_text="As they were sent.")

    class Meta:
        model = Replay
        fields = (
            "id", "property", "state", "first_year", "last_year", "variants", "created_at",
            "answered_at",
        )  # fmt: skip

    @extend_schema_field(serializers.ChoiceField(REPLAY_STATES))
    def get_state(self, replay: Replay) -> str:
        is_refused = getattr(replay, "is_refused", None)
        if is_refused is None:
            return state_of(replay.answer)
        if replay.answered_at is None:
            return "waiting"
        return "refused" if is_refused else "answered"

    @extend_schema_field(VariantSerializer(many=True))
    def get_variants(self, replay: Replay) -> Any:
        return replay.asked["entered"]


class ReplayDetailSerializer(ReplaySerializer):
    refusal = serializers.JSONField(source="answer.refusal", default=None)
    answer = serializers.SerializerMethodField()

    class Meta:
        model = Replay
        fields = (*ReplaySerializer.Meta.fields, "refusal", "answer")

    @extend_schema_field(ReplayAnswerSerializer(allow_null=True))
    def get_answer(self, replay: Replay) -> Any:
        if state_of(replay.answer) != "answered":
            return None
        return ReplayAnswerSerializer(replay.answer, context=self.context).data


class ReplayViewSet(ReadViewSet[Replay]):
    """Questions to past weather, and their answers."""

    access = Access(read=ALL_STAFF, write=frozenset())
    queryset = Replay.objects.all()
    serializer_class = ReplaySerializer
    property_path: ClassVar[str | None] = "property"
    filterset_class = ReplayFilters

    def get_queryset(self) -> QuerySet[Replay]:
        rows = super().get_queryset()
        if self.action == "retrieve":
            return rows
        return without_answers(rows)

    def get_serializer_class(self) -> type[serializers.BaseSerializer[Replay]]:
        return ReplayDetailSerializer if self.action == "retrieve" else ReplaySerializer


class AskReplayView(KeyedPosts):
    """Replay ways of watering of a property on past weather, in the background."""

    access = Access(read=frozenset(), write=OFFICE_ONLY)
    needs_key = True

    @extend_schema(
        parameters=[KEY], request=AskReplaySerializer, responses={202: ReplayAskedSerializer}
    )
    def post(self, request: Request, pk: UUID) -> Response:
        staff, now = staff_of(request), timezone.now()
        property_: Property = get_object_or_404(visible_properties(staff, now), pk=pk)
        sent = AskReplaySerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        replay, job = ask_for_replay(property_, question_of(sent), actor=staff, now=now)
        told = ReplayAskedSerializer({"replay": replay.pk, "job": job}).data
        return Response(told, status=status.HTTP_202_ACCEPTED)
