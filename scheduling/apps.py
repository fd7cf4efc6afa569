"""Wiring of this app at start-up."""

from __future__ import annotations

from django.apps import AppConfig


class SchedulingConfig(AppConfig):
    name = "scheduling"

    def ready(self) -> None:
        from audits.signals import visit_finished
        from properties.services.jobs import register_handler
        from scheduling.receivers import ask_for_plans
        from scheduling.services import job_kinds, plans

        visit_finished.connect(ask_for_plans, dispatch_uid="plans after visit")
        register_handler(job_kinds.PLANS_AFTER_VISIT, plans.store_plans_after_visit)
        register_handler(job_kinds.PLANS_OF_PROPERTY, plans.store_plans_of_property)
