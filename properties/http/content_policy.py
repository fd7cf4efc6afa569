"""What a page of ours may load: our own files, and nothing that stands in the page itself."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from django.http import HttpRequest, HttpResponse

# Styles in attributes are allowed: pages set the width of a field with them.
POLICY: Final = (
    "default-src 'self'; img-src 'self' data:; style-src 'self' 'unsafe-inline';"
    " object-src 'none'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'"
)


class ContentPolicy:
    """Sends the policy with every answer that has none of its own."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        response.headers.setdefault("Content-Security-Policy", POLICY)
        return response
