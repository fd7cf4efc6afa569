"""Wiring of this app at start-up."""

from __future__ import annotations

from django.apps import AppConfig


class PropertiesConfig(AppConfig):
    name = "properties"

    def ready(self) -> None:
        from properties.services.jobs import register_hint
        from properties.tasks import send_hint

        register_hint(send_hint)
