"""A notice as a letter: in plain text and as HTML, from the same words.

The text is for those who read plain mail, the HTML for the rest. It needs no pictures, no style
sheet of elsewhere and no script, and it reads in dark and in light.
"""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from html import escape
from typing import Final

from scheduling.domain.notice_content import NoticeContent, NoticeSection, NoticeTable

LINE: Final = 72
"""Letters in a line of plain text (common practice: shown whole on any screen)."""
_GAP: Final = 2
_FONT: Final = "font-family:sans-serif;font-size:16px;line-height:1.45"
_CELL: Final = (
    "padding:6px 14px 6px 0;border-bottom:1px solid #999999;text-align:left;vertical-align:top"
)


@dataclass(frozen=True)
class Letter:
    """What a notice says to one reader: by whom, to whom, why, and how to stop it."""

    content: NoticeContent
    company_name: str
    contact_line: str
    greeting: str
    why: str
    stop_url: str = ""
    language: str = "en"


def letter_text(letter: Letter) -> str:
    """Return the letter as plain text, in lines of at most 72 letters where words allow it."""
    blocks = [_wrapped(letter.greeting), _wrapped(letter.content.summary)]
    blocks += [_section_text(section) for section in letter.content.sections]
    blocks += ["\n".join(["-- ", _wrapped(letter.company_name), _wrapped(letter.contact_line)])]
    blocks += [_wrapped(letter.why)]
    if letter.stop_url:
        blocks.append(f"To stop these notices:\n{letter.stop_url}")
    return "\n\n".join(block.rstrip("\n") for block in blocks) + "\n"


def letter_html(letter: Letter) -> str:
    """Return the letter as a page of HTML, every word of it literal."""
    sections = "".join(_section_html(section) for section in letter.content.sections)
    return (
        f'<!DOCTYPE html><html lang="{escape(letter.language)}"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width">'
        '<meta name="color-scheme" content="light dark">'
        f"<title>{escape(letter.content.subject)}</title></head>"
        f'<body style="margin:0 auto;max-width:40em;padding:16px;{_FONT}">'
        f"{_p(letter.greeting)}{_p(letter.content.summary, 'font-weight:bold')}{sections}"
        f'<hr style="margin-top:24px">{_p(letter.company_name, "font-weight:bold")}'
        f"{_p(letter.contact_line)}{_small(letter.why, letter.stop_url)}</body></html>"
    )


def _wrapped(words: str, width: int = LINE) -> str:
    return textwrap.fill(" ".join(words.split()), width, break_long_words=False)


def _section_text(section: NoticeSection) -> str:
    blocks = [_wrapped(paragraph) for paragraph in section.paragraphs]
    blocks += [_table_text(section.table)] if section.table else []
    return section.heading.upper() + "\n" + "\n\n".join(blocks)


def _table_text(table: NoticeTable) -> str:
    """Return columns where they fit into a line, else one line for each cell."""
    rows = [table.headings, *table.rows]
    widths = [max(len(row[at]) for row in rows) for at in range(len(table.headings))]
    if sum(widths) + _GAP * (len(widths) - 1) <= LINE:
        return "\n".join(_columns(row, widths) for row in rows)
    return "\n\n".join(_listed(table.headings, row) for row in table.rows)


def _columns(row: tuple[str, ...], widths: list[int]) -> str:
    cells = (cell.ljust(width) for cell, width in zip(row, widths, strict=True))
    return (" " * _GAP).join(cells).rstrip()


def _listed(headings: tuple[str, ...], row: tuple[str, ...]) -> str:
    return "\n".join(
        _wrapped(f"{heading}: {cell}") for heading, cell in zip(headings, row, strict=True)
    )


def _section_html(section: NoticeSection) -> str:
    heading = f'<h2 style="font-size:18px;margin:24px 0 4px">{escape(section.heading)}</h2>'
    paragraphs = "".join(_p(paragraph) for paragraph in section.paragraphs)
    return heading + paragraphs + (_table_html(section.table) if section.table else "")


def _table_html(table: NoticeTable) -> str:
    head = "".join(
        f'<th scope="col" style="{_CELL}">{escape(heading)}</th>' for heading in table.headings
    )
    rows = "".join(
        "<tr>" + "".join(f'<td style="{_CELL}">{escape(cell)}</td>' for cell in row) + "</tr>"
        for row in table.rows
    )
    return (
        f'<table style="border-collapse:collapse;{_FONT}"><thead><tr>{head}</tr></thead>'
        f"<tbody>{rows}</tbody></table>"
    )


def _p(words: str, style: str = "") -> str:
    look = f"margin:8px 0;{style}".rstrip(";")
    return f'<p style="{look}">{escape(words)}</p>' if words else ""


def _small(why: str, stop_url: str) -> str:
    stop = f' <a href="{escape(stop_url)}">Stop these notices</a>.' if stop_url else ""
    return f'<p style="font-size:13px;margin:8px 0">{escape(why)}{stop}</p>'
