"""What a page says."""

from typing import Any


def words(response: Any) -> str:
    """Return the page as sent, with every run of white space as one space."""
    return " ".join(response.content.decode().split())
