"""Which rows a backup holds, and the one view of them that it is made of."""

from collections.abc import Iterator
from contextlib import contextmanager

from django.apps import apps
from django.apps.registry import Apps
from django.db import connection, transaction
from django.db.migrations.loader import MigrationLoader
from django.db.models import Model

# Every other model is backed up, without anybody having to think of it.
LEFT_OUT = {
    "contenttypes.contenttype": "made by `migrate`, with other numbers in each database",
    "auth.permission": "made by `migrate`; nothing here asks for one",
    "auth.group_permissions": "names permissions",
    "kal.user_user_permissions": "names permissions",
    "sessions.session": "a session is a key to somebody's account; people sign in anew",
    "django_tasks_db.dbtaskresult": "the worker's errands follow from the rows themselves",
}


def backed_up(registry: Apps = apps) -> dict[str, type[Model]]:
    """Return the models of a backup by label, like "kal.user"; rows between two of them too."""
    models = registry.get_models(include_auto_created=True)
    return {
        model._meta.label_lower: model
        for model in models
        if model._meta.managed and not model._meta.proxy and model._meta.label_lower not in LEFT_OUT
    }


def applied_migrations() -> list[str]:
    """Return what the database's tables are like, as the migrations that made them so."""
    applied = MigrationLoader(connection).applied_migrations
    return sorted(f"{app}.{name}" for app, name in applied)


@contextmanager
def snapshot() -> Iterator[None]:
    """Read within it sees the rows as they were at one instant, while others go on writing."""
    if connection.in_atomic_block:
        yield  # The caller's transaction is what is read.
    elif connection.vendor == "sqlite":
        # Not `atomic`, which takes the write lock: in WAL mode a reader holds nobody up.
        with connection.cursor() as cursor:
            cursor.execute("BEGIN DEFERRED")
        try:
            yield
        finally:
            with connection.cursor() as cursor:
                cursor.execute("ROLLBACK")
    else:
        with transaction.atomic():
            with connection.cursor() as cursor:
                cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
            yield
