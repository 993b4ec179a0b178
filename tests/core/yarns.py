"""Yarns for the tests of the colour core, by lightness or by hex."""

from typing import Any

from palettes.colour.spaces import Lab, hex_to_lab
from palettes.colour.swatch import Swatch


def all_of(fibre: str) -> tuple[tuple[str, float], ...]:
    """Return the parts of a yarn made of one fibre; none without a name."""
    return ((fibre, 100.0),) if fibre else ()


def grey(l: float, spread: float = 0.0, **more: Any) -> Swatch:  # noqa: E741
    """Return a neutral yarn of this L*, named after it."""
    return Swatch(f"grey {l:g}", Lab(l, 0.0, 0.0), spread, **more)


def dyed(text: str, spread: float = 0.0, *, fibre: str = "", **more: Any) -> Swatch:
    """Return a yarn of this hex colour, named after it."""
    return Swatch(text, hex_to_lab(text), spread, fibre=all_of(fibre), **more)


GOOD = [dyed(text) for text in ("#f3efe6", "#d9b26a", "#8a8f96", "#7a3b2c", "#1b2a3a")]
