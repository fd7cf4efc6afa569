"""Triggers that make a table append-only on both databases."""

from __future__ import annotations

from typing import Final

from django.db.backends.base.schema import BaseDatabaseSchemaEditor

_POSTGRESQL_FUNCTION: Final = """
CREATE OR REPLACE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION USING MESSAGE = TG_TABLE_NAME || ' is append-only', ERRCODE = 'check_violation';
END $$;
"""


def install(schema_editor: BaseDatabaseSchemaEditor, table: str) -> None:
    """Let the table refuse every update and delete from now on."""
    if schema_editor.connection.vendor == "postgresql":
        schema_editor.execute(_POSTGRESQL_FUNCTION)
    for act in ("update", "delete"):
        schema_editor.execute(_trigger_sql(schema_editor.connection.vendor, table, act))


def remove(schema_editor: BaseDatabaseSchemaEditor, table: str) -> None:
    """Undo `install`."""
    on_table = f' ON "{table}"' if schema_editor.connection.vendor == "postgresql" else ""
    for act in ("update", "delete"):
        schema_editor.execute(f'DROP TRIGGER IF EXISTS "{table}_no_{act}"{on_table}')


def _trigger_sql(vendor: str, table: str, act: str) -> str:
    if vendor == "postgresql":
        return (
            f'CREATE OR REPLACE TRIGGER "{table}_no_{act}" BEFORE {act.upper()} ON "{table}"'
            " FOR EACH ROW EXECUTE FUNCTION refuse_change()"
        )
    return (
        f'CREATE TRIGGER IF NOT EXISTS "{table}_no_{act}" BEFORE {act.upper()} ON "{table}"'
        f" BEGIN SELECT RAISE(ABORT, '{table} is append-only'); END"
    )
