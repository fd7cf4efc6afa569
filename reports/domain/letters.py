"""A notice as a letter: in plain text and as HTML, from the same words.

The text is for those who read plain mail, the HTML for the rest. It needs no pictures, no style
sheet of elsewhere and no script, and it reads in dark and in light.
"""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from html import escape
from itertools import zip_longest
from typing import Final

from scheduling.domain.notice_content import NoticeContent, NoticeSection, NoticeTable
from scheduling.domain.notice_words import LetterWords, notice_words

LINE: Final = 72
"""Letters in a line of plain text (common practice: shown whole on any screen)."""
_GAP: Final = 2
_LINES_OF_A_ROW: Final = 2.0  # common practice: beyond it a list reads better
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

    @property
    def words(self) -> LetterWords:
        """What is said around the notice, in its language."""
        return notice_words(self.language).letter


def letter_text(letter: Letter) -> str:
    """Return the letter as plain text, in lines of at most 72 letters where words allow it."""
    blocks = [_wrapped(letter.greeting), _wrapped(letter.content.summary)]
    blocks += [_section_text(section) for section in letter.content.sections]
    blocks += ["\n".join(["-- ", _wrapped(letter.company_name), _wrapped(letter.contact_line)])]
    blocks += [_wrapped(letter.why)]
    if letter.stop_url:
        blocks.append(f"{letter.words.stop}\n{letter.stop_url}")
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
        f"{_p(letter.contact_line)}{_small(letter)}</body></html>"
    )


def _wrapped(words: str, width: int = LINE) -> str:
    return textwrap.fill(" ".join(words.split()), width, break_long_words=False)


def _section_text(section: NoticeSection) -> str:
    blocks = [_wrapped(paragraph) for paragraph in section.paragraphs]
    blocks += [_table_text(section.table)] if section.table else []
    return section.heading.upper() + "\n" + "\n\n".join(blocks)


def _table_text(table: NoticeTable) -> str:
    """Return columns, their cells wrapped where a line asks for it, else one line for each cell."""
    rows = [table.headings, *table.rows]
    widths = _widths(rows)
    if widths is None:
        return "\n\n".join(_listed(table.headings, row) for row in table.rows)
    return "\n".join(_columns(row, widths) for row in rows)


def _widths(rows: list[tuple[str, ...]]) -> list[int] | None:
    """Return the widths of columns that fit into a line, the widest made narrower; or None."""
    columns = list(zip(*rows, strict=True))
    widths = [max(len(cell) for cell in column) for column in columns]
    least = [max(_longest_word(cell) for cell in column) for column in columns]
    room = LINE - _GAP * (len(columns) - 1)
    if sum(least) > room or sum(widths) > room * _LINES_OF_A_ROW:
        return None
    while sum(widths) > room:
        at = max(
            (at for at in range(len(widths)) if widths[at] > least[at]), key=widths.__getitem__
        )
        widths[at] -= 1
    return widths


def _longest_word(words: str) -> int:
    return max(map(len, words.split()), default=0)


def _columns(row: tuple[str, ...], widths: list[int]) -> str:
    cells = [_wrapped(cell, width).split("\n") for cell, width in zip(row, widths, strict=True)]
    lines = zip_longest(*cells, fillvalue="")
    return "\n".join(_line(line, widths) for line in lines)


def _line(cells: tuple[str, ...], widths: list[int]) -> str:
    padded = (cell.ljust(width) for cell, width in zip(cells, widths, strict=True))
    return (" " * _GAP).join(padded).rstrip()


def _listed(headings: tuple[str, ...], row: tuple[str, ...]) -> str:
    return "\n".join(
        _wrapped(f"{heading}: {cell}") for heading, cell in zip(headings, row, strict=True)
    )


def _section_html(section: NoticeSection) -> str:
    heading = f'<h2 style="font-size:18px;margin:24px 0 4px">{escape(section.heading)}</h2>'
    paragraphs = "".join(_p(paragraph) for paragraph in section.paragraphs)
    return heading + paragraphs + (_table_html(section.table) if section.table else "")


def _table_html(table: NoticeTable) -> str:
    share = f"width:{100 // len(table.headings)}%;{_CELL}"
    head = "".join(
        f'<th scope="col" style="{share}">{escape(heading)}</th>' for heading in table.headings
    )
    rows = "".join(
        "<tr>" + "".join(f'<td style="{_CELL}">{escape(cell)}</td>' for cell in row) + "</tr>"
        for row in table.rows
    )
    return (
        f'<table style="width:100%;border-collapse:collapse;{_FONT}">'
        f"<thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table>"
    )


def _p(words: str, style: str = "") -> str:
    look = f"margin:8px 0;{style}".rstrip(";")
    return f'<p style="{look}">{escape(words)}</p>' if words else ""


def _small(letter: Letter) -> str:
    why, link = escape(letter.why), escape(letter.words.stop_link)
    stop = f' <a href="{escape(letter.stop_url)}">{link}</a>.' if letter.stop_url else ""
    return f'<p style="font-size:13px;margin:8px 0">{why}{stop}</p>'
