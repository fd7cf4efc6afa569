"""Columns of the office's pages: numbers with their unit, and links from row to row."""

from __future__ import annotations

from typing import Any, Final

from django.apps import apps
from django.contrib import admin
from django.urls import NoReverseMatch, reverse
from django.utils.html import format_html

# How the unit at the end of a field's name is written; a longer ending comes before a shorter one.
UNIT_ENDINGS: Final = {
    "_per_m3": "per m3",
    "_mm_h": "mm/h",
    "_mm_m": "mm/m",
    "_l_min": "L/min",
    "_m_s": "m/s",
    "_cm2": "cm2",
    "_m2": "m2",
    "_kpa": "kPa",
    "_mm": "mm",
    "_min": "min",
    "_deg": "deg",
    "_percent": "%",
    "_c": "degC",
    "_m": "m",
}
_SCIENTIFIC_FROM: Final = 10_000


def unit_label(name: str) -> str:
    """Return a label such as "Area [m2]" for a field whose name ends in a unit, else nothing."""
    for ending, unit in UNIT_ENDINGS.items():
        if name.endswith(ending):
            return f"{_words(name.removesuffix(ending))} [{unit}]"
    return ""


def quantity_name(name: str) -> str:
    """Return the words of a quantity's field without its unit."""
    return unit_label(name).rpartition(" [")[0] or _words(name)


def measured(name: str, header: str = "") -> Any:
    """Return a column of a number with its unit in the header, in four significant digits.

    It is a callable; its type is open because Django's stubs know only names in some places.
    """

    @admin.display(description=header or unit_label(name), ordering=name)
    def column(row: Any) -> str:
        value = getattr(row, name)
        return "-" if value is None else number_text(value)

    column.__name__ = name
    return column


def number_text(value: float) -> str:
    """Return a number as people read it: four significant digits, never an exponent."""
    return f"{value:,.0f}" if abs(value) >= _SCIENTIFIC_FROM else f"{value:.4g}"


def subject_link(kind: str, subject_id: Any) -> str:
    """Return a link to a row that is known by the label of its model and its id."""
    try:
        name = str(apps.get_model(kind)._meta.verbose_name)
        address = reverse(f"admin:{kind.replace('.', '_')}_change", args=[subject_id])
    except NoReverseMatch:  # it has no page of its own
        return name
    except (LookupError, ValueError):  # a model of former days
        return kind
    return format_html('<a href="{}">{}</a>', address, name)


def _words(name: str) -> str:
    return name.replace("_", " ").capitalize()
