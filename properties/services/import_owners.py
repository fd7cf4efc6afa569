"""Which rows own the row that a file tells of."""

from __future__ import annotations

from typing import Any, Final
from uuid import UUID

from properties.domain.spreadsheet_columns import Kind
from properties.domain.spreadsheet_kinds import OWNERS
from properties.domain.spreadsheet_rows import Draft
from properties.services.import_known import Known
from properties.services.import_rows import SINGULAR, Step, plain_text

_OWNER_KIND: Final = {
    "customer": Kind.CUSTOMERS,
    "property": Kind.PROPERTIES,
    "controller": Kind.CONTROLLERS,
}
_DISTRICT: Final = "watering_district"


class Owners:
    """Finds owners by the references in a row, or, in a file of all kinds, in the same row."""

    def __init__(self, kind: Kind, known: Known) -> None:
        self._kind, self._known = kind, known

    def of(self, draft: Draft, above: dict[Kind, UUID | None]) -> dict[str, Any]:
        """Return the owners that a row names, by `_id`; what is not found is a fault.

        `above` has what the same row told of before: None for what was wrong.
        """
        owners: dict[str, Any] = {}
        for name in OWNERS[draft.of]:
            if self._kind is Kind.EVERYTHING:
                row_id = _in_row(name, draft, above)
            else:
                row_id = self._named(name, draft, owners)
            if row_id is not None:
                owners[f"{name}_id"] = row_id
        return owners | self._district(draft)

    def check_in_use(self, draft: Draft, step: Step) -> None:
        """Refuse what would be put under something that is retired."""
        district_id: Any = step.values.get(f"{_DISTRICT}_id")
        if district_id is not None:  # known already: the row need not read it again
            setattr(step.row, _DISTRICT, self._known.district(district_id))
        for name in OWNERS[draft.of]:
            if self._known.is_retired(step.values.get(f"{name}_id")):
                draft.refuse(
                    name, "owner-retired", f"This {name} is retired.",
                    "Bring it back first, or name another one.",
                )  # fmt: skip

    def _named(self, name: str, draft: Draft, owners: dict[str, Any]) -> UUID | None:
        text, kind = draft.owners.get(name), _OWNER_KIND[name]
        if text is None:
            return None
        if kind is Kind.CONTROLLERS:
            return self._controller(text, draft, owners)
        row_id = self._known.id_of(kind, text)
        if row_id is None:
            draft.refuse(
                name, "unknown-owner", f"No {name} has the reference '{text}'.",
                f"Bring in the {kind.value} first, or correct the cell.",
            )  # fmt: skip
        return row_id

    def _controller(self, text: str, draft: Draft, owners: dict[str, Any]) -> UUID | None:
        property_id = owners.get("property_id") or self._property_of(draft)
        if property_id is None:
            return None  # that is a fault of its own
        row_id = self._known.id_at((Kind.CONTROLLERS, property_id, plain_text(text)))
        if row_id is None:
            draft.refuse(
                "controller", "unknown-owner", f"No controller at its property is named '{text}'.",
                "Bring in the controllers first, or correct the cell.",
            )  # fmt: skip
        return row_id

    def _property_of(self, draft: Draft) -> UUID | None:
        stored = self._known.row(self._known.id_of(draft.of, draft.reference))
        return getattr(stored, "property_id", None)

    def _district(self, draft: Draft) -> dict[str, Any]:
        name = draft.owners.get(_DISTRICT)
        if name is None:
            return {}
        district = self._known.districts.get(name.casefold())
        if district is not None:
            return {f"{_DISTRICT}_id": district.pk}
        draft.refuse(
            _DISTRICT, "unknown-district", f"No watering district is named '{name}'.",
            "Enter the district first, or correct the cell.",
        )  # fmt: skip
        return {}


def _in_row(name: str, draft: Draft, above: dict[Kind, UUID | None]) -> UUID | None:
    kind = _OWNER_KIND[name]
    if kind not in above and name != "controller":
        draft.refuse(
            name, "owner-missing", f"The row tells of a {SINGULAR[draft.of]} without a {name}.",
            f"Write the {name} in the same row.",
        )  # fmt: skip
    return above.get(kind)
