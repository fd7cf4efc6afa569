"""What the water says of a symptom, as it goes out: shared with the app that knows the water."""

from __future__ import annotations

from rest_framework import serializers

from audits.domain.symptom_words import Confidence, Explains
from audits.domain.symptoms import WaterVerdict


class WaterVerdictSerializer(serializers.Serializer[WaterVerdict]):
    """Whether the water explains what is seen, how surely and by what, and who can say more."""

    explains = serializers.ChoiceField(choices=[each.value for each in Explains])
    confidence = serializers.ChoiceField(choices=[each.value for each in Confidence])
    sentence = serializers.CharField()
    evidence = serializers.ListField(child=serializers.CharField())
    ask = serializers.CharField()
