"""Wiring of this app at start-up."""

from __future__ import annotations

from django.apps import AppConfig


class ReportsConfig(AppConfig):
    name = "reports"

    def ready(self) -> None:
        from properties.services.erasure import register_eraser
        from properties.services.jobs import register_handler
        from properties.services.ticks import register_tick
        from reports.receivers import ask_for_summary, send_notices
        from reports.services import delivery, job_kinds, notice_sheets
        from reports.services.documents import AUDIT_SUMMARY_JOB, make_audit_summary
        from reports.services.erasure import erase_documents
        from scheduling.signals import notices_queued, plans_made

        plans_made.connect(ask_for_summary, dispatch_uid="summary after plans")
        notices_queued.connect(send_notices, dispatch_uid="mail after notices")
        register_eraser(erase_documents)
        register_tick("notices without a job", delivery.sweep_notices)
        register_handler(AUDIT_SUMMARY_JOB, make_audit_summary)
        register_handler(
            job_kinds.NOTICE_SHEET,
            notice_sheets.store_sheet,
            gather=notice_sheets.render_sheet,
            queue="pdf",
        )
        register_handler(
            job_kinds.DELIVER_NOTICE, delivery.settle, gather=delivery.deliver, queue="mail"
        )
