"""Wiring of this app at start-up."""

from __future__ import annotations

from django.apps import AppConfig


class AuditsConfig(AppConfig):
    name = "audits"

    def ready(self) -> None:
        from audits.selectors.scope import technician_property_ids
        from properties.selectors.scope import register_technician_scope

        register_technician_scope(technician_property_ids)
