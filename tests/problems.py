"""How the tests read a problem document."""

from __future__ import annotations

from typing import Any

from django.apps import apps


def pointers(answer: Any) -> list[str]:
    """Return the JSON pointers that an answer names, after checking that it is a problem."""
    assert answer["Content-Type"] == "application/problem+json"
    assert answer.json()["status"] == answer.status_code
    return [error["pointer"] for error in answer.json().get("errors", [])]


def row_counts() -> dict[str, int]:
    """Return how many rows every table of the product holds."""
    labels = ("properties", "audits", "scheduling", "reports")
    models = [model for label in labels for model in apps.get_app_config(label).get_models()]
    return {model._meta.label: model._default_manager.count() for model in models}
