"""Read rendered summaries back."""

from __future__ import annotations

from functools import cache
from io import BytesIO

from pypdf import PdfReader

from reports.pdf.audit_summary import render_audit_summary
from tests.reports.examples import full_visit, make_summary


def read(content) -> PdfReader:
    return PdfReader(BytesIO(render_audit_summary(content)))


def words_of(reader: PdfReader) -> str:
    return " ".join(" ".join(page.extract_text() for page in reader.pages).split())


@cache
def example(system="us") -> PdfReader:
    return read(make_summary(system))


@cache
def full_example(system="us") -> PdfReader:
    return read(full_visit(system))


def texts_of(reader: PdfReader) -> list[str]:
    return [page.extract_text() for page in reader.pages]
