"""The page of notices: what was said to whom, what is on its way, what went wrong."""

from __future__ import annotations

from django.contrib import admin
from django.db.models import QuerySet
from django.http import HttpRequest
from django.utils import timezone
from django.utils.html import format_html_join
from django.utils.safestring import SafeString

from properties.http.office_admin import ReadOnlyAdmin, staff_of, try_each
from scheduling.domain.notice_content import content_of
from scheduling.models import Notice
from scheduling.services.notices import try_again


@admin.register(Notice)
class NoticeAdmin(ReadOnlyAdmin):
    list_display = ("subject", "reader", "kind", "state", "why", "created_at", "sent_at")
    list_filter = ("state", "kind", "may_be_twice")
    list_select_related = ("customer", "staff")
    search_fields = ("key", "customer__name", "property__name")
    date_hierarchy = "created_at"
    fields = (
        "subject", "words", "reader", "property", "kind", "period", "language", "state", "why",
        "attempts", "may_be_twice", "created_at", "sent_at", "key", "message_id", "sheet_sha256",
    )  # fmt: skip
    readonly_fields = ("subject", "words", "reader", "why")
    actions = ("queue_again",)

    @admin.display(description="Subject")
    def subject(self, notice: Notice) -> str:
        return content_of(notice.content).subject

    @admin.display(description="What it says")
    def words(self, notice: Notice) -> SafeString:
        content = content_of(notice.content)
        paragraphs = [content.summary]
        for section in content.sections:
            paragraphs += [section.heading, *section.paragraphs]
            paragraphs += [" | ".join(row) for row in section.table.rows] if section.table else []
        return format_html_join("", "<p>{}</p>", ((words,) for words in paragraphs))

    @admin.display(description="To")
    def reader(self, notice: Notice) -> str:
        return str(notice.customer or notice.staff)

    @admin.display(description="Reason")
    def why(self, notice: Notice) -> str:
        return str(notice.reason.get("detail", ""))

    @admin.action(description="Try the chosen notices again that were held back or given up")
    def queue_again(self, request: HttpRequest, rows: QuerySet[Notice]) -> None:
        actor, now = staff_of(request), timezone.now()
        try_each(
            request, rows, lambda notice: try_again(notice, actor=actor, now=now),
            done="wait to be sent again",
        )  # fmt: skip
