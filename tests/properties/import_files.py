"""How the tests send spreadsheets: files as text, and both jobs run at once."""

from __future__ import annotations

from collections.abc import Sequence
from io import BytesIO
from typing import Any

from properties.domain.spreadsheet_columns import Kind
from properties.models import (
    Controller,
    Customer,
    Event,
    Import,
    ImportLine,
    Property,
    StaffMember,
    Zone,
)
from properties.services.imports import ask_to_write, keep_import
from properties.services.jobs import run_job
from tests import cast

CUSTOMERS = (
    "Reference,Name,E-mail,Telephone\n"
    "K-1,Ingrid Holm,ingrid@holm.example,555-010-0101\n"
    "K-2,Tomas Brandt,tomas@brandt.example,555-010-0102\n"
)
PROPERTIES = (
    "Reference,Customer reference,Name,Street,City,Pressure (psi)\n"
    "P-1,K-1,Holm garden,48 Kiln Street,Tallgrass,58\n"
    "P-2,K-2,Brandt yard,3 Mill Lane,Tallgrass,64\n"
)
CONTROLLERS = "Property reference,Name,Where\nP-1,Garage,Left wall\nP-2,Porch,\n"
ZONES = (
    "Property reference,Controller,Number,Name,Area (sq ft),Head kind,Plant type,Soil,Exposure\n"
    "P-1,Garage,1,Front lawn,2150,spray,cool turf,loam,full sun\n"
    "P-1,Garage,2,Back lawn,3400,rotor,cool turf,loam,full sun\n"
    "P-2,Porch,1,Lawn,1800,rotor,warm turf,sandy loam,full sun\n"
)
ALL_FILES = {
    "customers": CUSTOMERS, "properties": PROPERTIES, "controllers": CONTROLLERS, "zones": ZONES,
}  # fmt: skip
BROUGHT_IN = (Customer, Property, Controller, Zone)


def office() -> StaffMember:
    return StaffMember.objects.filter(role="office").first() or cast.make_office()


def keep(text: str | bytes, kind: str = "customers", **said: Any) -> Any:
    content = text.encode() if isinstance(text, str) else text
    return keep_import(
        BytesIO(content), kind=Kind(kind), name="rows.csv", said=said, actor=office(), now=cast.NOW
    )


def look(text: str | bytes, kind: str = "customers", **said: Any) -> Import:
    """Send a file and look at it; nothing is written."""
    sheet, job = keep(text, kind, **said)
    run_job(job.pk, now=cast.NOW)
    sheet.refresh_from_db()
    return sheet


def write(sheet: Import, *, only_good_rows: bool = False) -> Import:
    _, job = ask_to_write(sheet, only_good_rows=only_good_rows, actor=office(), now=cast.NOW)
    run_job(job.pk, now=cast.NOW)
    sheet.refresh_from_db()
    return sheet


def bring_in(text: str | bytes, kind: str = "customers", **said: Any) -> Import:
    """Send a file, look at it and write it."""
    return write(look(text, kind, **said))


def bring_in_all() -> None:
    for kind, text in ALL_FILES.items():
        assert bring_in(text, kind).state == "written"


def faults(sheet: Import) -> list[tuple[str, str]]:
    """Return the cell and code of every fault of an import, in the order of the file."""
    lines = ImportLine.objects.filter(sheet=sheet).order_by("row")
    return [(fault["cell"], fault["code"]) for line in lines for fault in line.faults]


def stored(models: Sequence[Any] = (*BROUGHT_IN, Event)) -> list[Any]:
    """Return all rows that an import may touch, events about imports left out."""
    return [
        [
            row
            for row in model.objects.order_by("pk").values()
            if row.get("subject_kind") != "properties.import"
        ]
        for model in models
    ]
