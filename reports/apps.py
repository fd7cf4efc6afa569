"""Wiring of this app at start-up."""

from __future__ import annotations

from django.apps import AppConfig


class ReportsConfig(AppConfig):
    name = "reports"

    def ready(self) -> None:
        from properties.services.jobs import register_handler
        from reports.receivers import ask_for_summary
        from reports.services.documents import AUDIT_SUMMARY_JOB, make_audit_summary
        from scheduling.signals import plans_made

        plans_made.connect(ask_for_summary, dispatch_uid="summary after plans")
        register_handler(AUDIT_SUMMARY_JOB, make_audit_summary)
