from __future__ import annotations

from typing import Any

from django.db import models

from palettes.colour.light import Box


class BoxField(models.Field):  # type: ignore[type-arg]
    """A rectangle in a photo, stored as 'left,top,right,bottom' in fractions of its sides."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("max_length", 40)
        super().__init__(*args, **kwargs)

    def get_internal_type(self) -> str:
        return "CharField"

    def from_db_value(self, value: str | None, *_: Any) -> Box | None:
        return self.to_python(value)

    def to_python(self, value: Any) -> Box | None:
        if isinstance(value, Box) or value is None:
            return value
        left, top, right, bottom = map(float, value.split(","))
        return Box(left, top, right, bottom)

    def get_prep_value(self, value: Box | None) -> str | None:
        if value is None:
            return None
        return ",".join(
            f"{edge:.4f}" for edge in (value.left, value.top, value.right, value.bottom)
        )
