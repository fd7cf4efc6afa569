"""Writing past every check but the database's."""

from __future__ import annotations

from django.db import models, transaction


def update(row: models.Model, **changes: object) -> None:
    """Change a row."""
    with transaction.atomic():
        type(row)._default_manager.filter(pk=row.pk).update(**changes)


def insert(model: type[models.Model], **values: object) -> None:
    """Add a row."""
    with transaction.atomic():
        model._default_manager.bulk_create([model(**values)])
