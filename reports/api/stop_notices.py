"""The page at which a client stops his notices, without a password and in one step."""

from __future__ import annotations

from typing import Final
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.utils.decorators import method_decorator
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.views import View
from django.views.decorators.csrf import csrf_exempt

from properties.domain.errors import RefusedError
from properties.selectors.company import the_company
from properties.services.mail_consent import stop_notices
from reports.models import LinkPurpose
from reports.services.links import find_link, note_use

_STYLE: Final = "font-family:sans-serif;max-width:34em;margin:3em auto;padding:1em;line-height:1.5"
_BUTTON: Final = "font-size:1.1em;padding:.6em 1.2em"


# A mail program posts here by itself (RFC 8058), without our cookie: the code is what it proves by.
@method_decorator(csrf_exempt, name="dispatch")
class StopNoticesView(View):
    """GET asks first, since programs look at every address in a mail; POST does it."""

    def get(self, request: HttpRequest, link_id: UUID, code: str) -> HttpResponse:
        try:
            find_link(link_id, code, LinkPurpose.STOP_NOTICES, now=timezone.now())
        except RefusedError as refusal:
            return _page(f"{refusal.detail} {refusal.remedy}", status=404)
        words = f"Stop the watering notices of {the_company().name}?"
        button = format_html(
            '<form method="post"><button style="{}">Stop the notices</button></form>', _BUTTON
        )
        return _page(words, button)

    def post(self, request: HttpRequest, link_id: UUID, code: str) -> HttpResponse:
        now = timezone.now()
        try:
            link = find_link(link_id, code, LinkPurpose.STOP_NOTICES, now=now)
        except RefusedError as refusal:
            return _page(f"{refusal.detail} {refusal.remedy}", status=404)
        stop_notices(link.customer_id, now=now)
        note_use(link, now=now)
        return _page("The notices are stopped. To get them again, tell the office.")


def _page(words: str, more: SafeString | str = "", *, status: int = 200) -> HttpResponse:
    page = format_html(
        '<!DOCTYPE html><html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width"><title>Watering notices</title></head>'
        '<body style="{}"><h1>Watering notices</h1><p>{}</p>{}</body></html>',
        _STYLE, words, more,
    )  # fmt: skip
    response = HttpResponse(page, status=status)
    response["Cache-Control"] = "no-store"
    response["Referrer-Policy"] = "no-referrer"
    response["X-Robots-Tag"] = "noindex"
    response["Content-Security-Policy"] = (
        "default-src 'none'; style-src 'unsafe-inline'; form-action 'self'; base-uri 'none'"
    )
    return response
