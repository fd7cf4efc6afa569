from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.state import StateApps

from properties.models import append_only

TABLE = "properties_event"


def install(apps: StateApps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    append_only.install(schema_editor, TABLE)


def remove(apps: StateApps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    append_only.remove(schema_editor, TABLE)


class Migration(migrations.Migration):
    dependencies = [("properties", "0001_initial")]
    operations = [migrations.RunPython(install, remove)]
