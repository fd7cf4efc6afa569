"""Wiring of this app at start-up."""

from __future__ import annotations

from django.apps import AppConfig


class PropertiesConfig(AppConfig):
    name = "properties"

    def ready(self) -> None:
        from properties.http import deployment_checks  # noqa: F401 - registers itself
        from properties.services import imports
        from properties.services.idempotency import forget_old_answers
        from properties.services.job_purges import PURGE_JOBS, ask_for_purge, purge_jobs
        from properties.services.jobs import register_handler, register_hint
        from properties.services.ticks import register_tick
        from properties.tasks import send_hint

        register_hint(send_hint)
        register_handler(PURGE_JOBS, purge_jobs)
        register_handler(imports.LOOK, imports.store_look, gather=imports.look_at_import)
        register_handler(imports.WRITE, imports.write_import, gather=imports.plan_writing)
        register_tick("old jobs", ask_for_purge)
        register_tick("imports that nobody had written", imports.cancel_forgotten_imports)
        register_tick("old answers", forget_old_answers)
