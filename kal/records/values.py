"""Values of fields as JSON and back: the same for every database, to the microsecond."""

import base64
import json
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db.models import Field, Model
from django.utils.duration import duration_string

type AnyField = Field[Any, Any]
BYTES = "base64"


def stored_fields(model: type[Model]) -> list[AnyField]:
    """Return the fields of a model that are columns to be written."""
    return [field for field in model._meta.concrete_fields if not field.generated]


def as_json(values: object) -> str:
    """Return one line of JSON, where what has no form there is a text or an object."""
    return json.dumps(values, default=_spelt, ensure_ascii=False, separators=(",", ":"))


def prepared(field: AnyField, value: Any) -> Any:
    """Return a value as its field would store it, before a database has its way with it."""
    return None if value is None else field.get_prep_value(value)


def revived(field: AnyField, value: Any) -> Any:
    """Return what was stored of a field, as `get_db_prep_save` wants it; ValueError if it is not.

    The opposite of `prepared` and `as_json` together.
    """
    if isinstance(value, dict) and field.get_internal_type() == "BinaryField":
        return base64.b64decode(value[BYTES])
    return value if field.get_internal_type() == "JSONField" else field.to_python(value)


def _spelt(value: object) -> object:
    if isinstance(value, datetime | date | time):
        return value.isoformat()
    if isinstance(value, timedelta):
        return duration_string(value)
    if isinstance(value, bytes | memoryview):
        return {BYTES: base64.b64encode(value).decode()}
    if isinstance(value, Decimal | UUID):
        return str(value)
    raise TypeError(f"{type(value).__name__} has no form in a backup.")
