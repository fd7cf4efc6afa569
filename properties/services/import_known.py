"""The rows that a block of a file may mean, and those that the file has told of so far."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, Final
from uuid import UUID

from django.db.models import Q, QuerySet

from properties.domain.spreadsheet_alike import address_key, mail_key, phone_key
from properties.domain.spreadsheet_columns import Kind
from properties.domain.spreadsheet_rows import Draft
from properties.models import Customer, Property, Row, WateringDistrict
from properties.selectors.retirement import is_retired
from properties.services.import_rows import (
    MODELS,
    Step,
    id_named,
    place_of_row,
    reference_of,
    references_in,
)

_ALIKE_FIELDS: Final = ("email", "phone", "street")


class Known:
    """Finds rows by reference, id or place: of the database block by block, of the file for ever.

    Of the file only ids, references and places are kept, so that its length hardly counts.
    """

    def __init__(self) -> None:
        self.districts = {row.name.casefold(): row for row in WateringDistrict.objects.all()}
        self._stored: dict[Any, Row] = {}
        self._told: dict[Any, UUID] = {}
        self._rows: dict[tuple[Kind, UUID], tuple[int, int]] = {}

    def district(self, district_id: UUID) -> WateringDistrict:
        """Return a district by its id."""
        return next(row for row in self.districts.values() if row.pk == district_id)

    def load(self, drafts: Sequence[Draft]) -> None:
        """Read the rows that the drafts of a block may mean, in a few queries."""
        self._stored = {}
        wanted, parts = references_in(drafts), {draft.of for draft in drafts}
        properties: list[UUID] = []
        for part in MODELS:
            at_property = Q()
            if part in (Kind.CONTROLLERS, Kind.ZONES):
                if not parts & {Kind.CONTROLLERS, Kind.ZONES}:
                    continue
                at_property = Q(property__in=properties)
            for row in self._named(part, wanted[part], at_property):
                self._keep(part, row)
                if part is Kind.PROPERTIES:
                    properties.append(row.pk)

    def id_of(self, part: Kind, reference: str) -> UUID | None:
        """Return the id of the row that a reference names, stored or told of in the file."""
        row = self._stored.get((part, reference))
        return row.pk if row is not None else self._told.get((part, reference))

    def id_at(self, place: tuple[Any, ...] | None) -> UUID | None:
        """Return the id of the row at a place, stored or told of in the file."""
        row = self._stored.get(place) if place else None
        return row.pk if row is not None else self._told.get(place)

    def row(self, row_id: UUID | None) -> Row | None:
        """Return a stored row of the block."""
        return self._stored.get(row_id)

    def is_retired(self, row_id: UUID | None) -> bool:
        row = self._stored.get(row_id)
        return row is not None and is_retired(row)

    def told_in(self, part: Kind, row_id: UUID) -> tuple[int, int] | None:
        """Return in which row of the file this one was told of, and a digest of what it said."""
        return self._rows.get((part, row_id))

    def tell(self, draft: Draft, step: Step, digest: int) -> None:
        """Keep that a good row of the file told of this one."""
        self._rows[(step.of, step.row.pk)] = (draft.row, digest)
        if step.is_new:
            self._told[(step.of, draft.reference or reference_of(step.row))] = step.row.pk
            if place := place_of_row(step.of, step.row):
                self._told[place] = step.row.pk

    def _named(self, part: Kind, references: set[str], at_property: Q) -> QuerySet[Row]:
        ids = [row_id for text in references if (row_id := id_named(text))]
        rows: QuerySet[Any] = MODELS[part]._base_manager.filter(
            Q(reference__in=references) | Q(pk__in=ids) | (at_property or Q(pk__in=[]))
        )
        return rows.select_related("watering_district") if part is Kind.PROPERTIES else rows

    def _keep(self, part: Kind, row: Any) -> None:
        self._stored[row.pk] = row
        self._stored[(part, f"id:{row.pk}")] = row
        if row.reference:
            self._stored[(part, row.reference)] = row
        place = place_of_row(part, row)
        if place is not None:
            self._stored[place] = row


class Alike:
    """Finds customers by contact and properties by address, of the file and of the database.

    `file_keys` are the keys that the file has at all: of the database nothing else is kept.
    """

    def __init__(self, parts: Sequence[Kind], file_keys: set[tuple[str, str]]) -> None:
        self._stored: dict[tuple[str, str], tuple[UUID, str]] = {}
        self._told: dict[tuple[str, str], tuple[UUID, int]] = {}
        for key, row_id, reference in _stored_keys(parts):
            if key in file_keys:
                self._stored.setdefault(key, (row_id, reference))

    def check(self, draft: Draft, step: Step) -> None:
        """Refuse a contact or an address that another row has already."""
        for key in self._new_keys(step):
            name, what = key[0], "address" if key[0] == "street" else "contact"
            kind = "property" if key[0] == "street" else "customer"
            stored, told = self._stored.get(key), self._told.get(key)
            if stored is not None and stored[0] != step.row.pk:
                draft.refuse(
                    name, "alike-stored", f"The {kind} {stored[1]} has this {what} already.",
                    "Give the row that reference, or say in `takes_alike` that both are right.",
                )  # fmt: skip
            elif told is not None and told[0] != step.row.pk:
                draft.refuse(
                    name, "alike-in-file", f"Row {told[1]} has this {what} already.",
                    "Delete one of the rows, or say in `takes_alike` that both are right.",
                )  # fmt: skip

    def tell(self, draft: Draft, step: Step) -> None:
        for key in self._new_keys(step):
            self._told.setdefault(key, (step.row.pk, draft.row))

    def _new_keys(self, step: Step) -> list[tuple[str, str]]:
        if step.of not in (Kind.CUSTOMERS, Kind.PROPERTIES):
            return []
        if not step.is_new and not set(step.values) & {*_ALIKE_FIELDS, "city"}:
            return []
        return list(alike_keys(vars(step.row)))


def alike_keys(values: dict[str, Any]) -> Iterator[tuple[str, str]]:
    """Yield by what a customer or property is alike to another: column and key."""
    keys = {
        "email": mail_key(values.get("email") or ""),
        "phone": phone_key(values.get("phone") or ""),
        "street": address_key(values.get("street") or "", values.get("city") or ""),
    }
    return ((name, key) for name, key in keys.items() if key)


def _stored_keys(parts: Sequence[Kind]) -> Iterator[tuple[tuple[str, str], UUID, str]]:
    readers: list[tuple[Kind, Any, tuple[str, ...]]] = [
        (Kind.CUSTOMERS, Customer, ("email", "phone")),
        (Kind.PROPERTIES, Property, ("street", "city")),
    ]
    for part, model, names in readers:
        if part not in parts:
            continue
        rows = model.objects.values_list("pk", "reference", *names).order_by()
        for row_id, reference, *values in rows.iterator(chunk_size=2000):
            for key in alike_keys(dict(zip(names, values, strict=True))):
                yield key, row_id, reference or f"id:{row_id}"
