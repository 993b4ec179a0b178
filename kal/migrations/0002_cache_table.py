"""The table of the shared cache, where the sign-in rate limits are counted."""

from django.core.management import call_command
from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.state import StateApps

TABLE = "kal_cache"


def create_table(apps: StateApps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    call_command("createcachetable", TABLE, database=schema_editor.connection.alias)


def drop_table(apps: StateApps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    schema_editor.execute(f"DROP TABLE IF EXISTS {TABLE}")


class Migration(migrations.Migration):
    dependencies = [("kal", "0001_initial")]
    operations = [migrations.RunPython(create_table, drop_table)]
