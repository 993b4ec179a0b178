"""What the page sends on which a clue is written."""

from typing import Any

from tests.builders import NO_ROWS


def typed(body: str = "Cast on 5.", **fields: Any) -> dict[str, Any]:
    """Return what is sent for a clue of one text, begun from its first revision."""
    return {
        "began_from": 1,
        "title": "Harbour wall",
        "title_is_secret": "on",
        "body": body,
        **NO_ROWS,
    } | fields
