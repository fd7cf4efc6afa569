"""The pages behind the types of problems, for whoever follows the link in an answer."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from django.http import Http404, HttpRequest, HttpResponse
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString, mark_safe
from django.views.decorators.http import require_safe

from config.problem_types import NAMES, page_of, title_of, uri_of

_CODE: Final = re.compile(r"`([^`]+)`")
_PAGE: Final = (
    '<!DOCTYPE html><html lang="en"><head><meta charset="utf-8"><title>{}</title>'
    '<meta name="viewport" content="width=device-width"></head>'
    '<body style="font-family:sans-serif;max-width:38em;margin:3em auto;padding:0 1em;'
    'line-height:1.5">{}</body></html>'
)


@require_safe
def problem_list(request: HttpRequest) -> HttpResponse:
    """List all types."""
    links = format_html_join(
        "", '<li><a href="{}">{}</a>: {}</li>', ((uri_of(n), n, title_of(n)) for n in NAMES)
    )
    return _answer("Problems", format_html("<h1>Problems</h1><ul>{}</ul>", links))


@require_safe
def problem_page(request: HttpRequest, kind: str) -> HttpResponse:
    """Say what one type means, and what to do."""
    if kind not in NAMES:
        raise Http404
    back = format_html('<p><a href="{}">All problems</a></p>', "/problems")
    return _answer(title_of(kind), format_html("{}{}", as_html(page_of(kind)), back))


def as_html(markdown: str) -> SafeString:
    """Return our own Markdown as HTML: headings, paragraphs, lists of dashes, and code."""
    blocks = markdown.strip().split("\n\n")
    return format_html_join("\n", "{}", ((part,) for block in blocks for part in _block(block)))


def _block(block: str) -> Iterator[SafeString]:
    if block.startswith("# "):
        yield format_html("<h1>{}</h1>", _inline(block[2:]))
    elif block.startswith("- "):
        items = re.split(r"^- ", block, flags=re.MULTILINE)[1:]
        listed = format_html_join("", "<li>{}</li>", ((_inline(item),) for item in items))
        yield format_html("<ul>{}</ul>", listed)
    else:
        yield format_html("<p>{}</p>", _inline(block))


def _inline(text: str) -> SafeString:
    escaped = str(format_html("{}", " ".join(text.split())))
    return mark_safe(_CODE.sub(r"<code>\1</code>", escaped))  # noqa: S308 - escaped above


def _answer(title: str, content: SafeString) -> HttpResponse:
    response = HttpResponse(format_html(_PAGE, title, content))
    response["Cache-Control"] = "public, max-age=86400"
    return response
