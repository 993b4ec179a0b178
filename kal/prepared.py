"""Look-ups that nearly every page makes, put into SQL once instead of at each request.

Composing a query takes Django several times as long as a small database takes to answer it.
The query is still the QuerySet's own, and its rows are read as Django's `ModelIterable` reads them;
`tests/web/test_prepared.py` sees whether a new Django does so still.
"""

import threading
from collections.abc import Callable
from typing import Any
from uuid import UUID

from django.db import DEFAULT_DB_ALIAS, connections
from django.db.models import Model, QuerySet
from django.db.models.query import get_related_populators

type Value = int | str | UUID
type Kind = type[int] | type[str] | type[UUID]


def _mark(kind: Kind, place: int) -> Value:
    """Return what stands for a value while the query is composed; no row has it."""
    if kind is int:
        return -1_424_242_000 - place
    return UUID(int=place) if kind is UUID else f"mark-of-value-{place}"


class Prepared[Row: Model]:
    """A query with values left open: `kinds` are theirs, int, str or UUID, in order.

    `compose` is handed a mark for each and has to filter by it as it stands. A number is one of a
    primary key: for smaller columns Django looks at the value before it writes the query.
    """

    def __init__(self, compose: Callable[..., QuerySet[Row]], *kinds: Kind):
        self._compose, self._kinds = compose, kinds
        self._of_thread = threading.local()  # as the connection is that the SQL is made for

    def rows(self, *values: Value) -> list[Row]:
        """Return the rows for these values."""
        plan = self._plan()
        with connections[DEFAULT_DB_ALIAS].cursor() as cursor:
            cursor.execute(plan.sql, plan.filled(values))
            return plan.read(cursor.fetchall())

    def _plan(self) -> "_Plan[Row]":
        connection = connections[DEFAULT_DB_ALIAS]
        plan: _Plan[Row] | None = getattr(self._of_thread, "plan", None)
        if plan is None or plan.compiler.connection is not connection:
            marks = [_mark(kind, place) for place, kind in enumerate(self._kinds)]
            plan = self._of_thread.plan = _Plan(self._compose(*marks), marks)
        return plan


class _Plan[Row: Model]:
    """One query as SQL, and how its rows are read."""

    def __init__(self, query: QuerySet[Row], marks: list[Value]) -> None:
        self.model = query.model
        self.compiler: Any = query.query.get_compiler(DEFAULT_DB_ALIAS)
        self.sql, parameters = self.compiler.as_sql()
        self._parameters = list(parameters)
        self._has_uuids = self.compiler.connection.features.has_native_uuid_field
        # A mark that the query changed or dropped would leave a value out: fail at once.
        self._places = [self._parameters.index(self._written(mark)) for mark in marks]
        columns, info = self.compiler.select, self.compiler.klass_info
        fields = info["select_fields"]
        self._own = slice(fields[0], fields[-1] + 1)
        self._names = [column[0].target.attname for column in columns[self._own]]
        self._converters = self.compiler.get_converters(column[0] for column in columns)
        mode = query._fetch_mode  # type: ignore[attr-defined]  # its stubs leave it out
        self._related = get_related_populators(info, columns, DEFAULT_DB_ALIAS, mode)

    def filled(self, values: tuple[Value, ...]) -> list[Any]:
        parameters = self._parameters.copy()
        for place, value in zip(self._places, values, strict=True):
            parameters[place] = self._written(value)
        return parameters

    def _written(self, value: Value) -> Value:
        """Return the value as a parameter: SQLite keeps a UUID as its hexadecimal digits."""
        return value.hex if isinstance(value, UUID) and not self._has_uuids else value

    def read(self, found: list[Any]) -> list[Row]:
        rows: list[Row] = []
        for row in self.compiler.apply_converters(found, self._converters):
            made = self.model.from_db(DEFAULT_DB_ALIAS, self._names, row[self._own])
            for populator in self._related:
                populator.populate(row, made)
            rows.append(made)
        return rows
