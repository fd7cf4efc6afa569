"""Wiring of this app at start-up."""

from __future__ import annotations

from django.apps import AppConfig


class AuditsConfig(AppConfig):
    name = "audits"

    def ready(self) -> None:
        from audits.selectors.scope import technician_property_ids
        from audits.selectors.unfinished import visits_ahead_of
        from audits.services.erasure import erase_field_records
        from properties.models import Property, StaffMember
        from properties.selectors.scope import register_technician_scope
        from properties.services.erasure import register_eraser
        from properties.services.retirement import register_objection

        register_technician_scope(technician_property_ids)
        register_eraser(erase_field_records)
        for model in (Property, StaffMember):
            register_objection(
                model, visits_ahead_of, remedy="Finish them, or call them off, first."
            )
