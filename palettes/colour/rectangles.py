"""The largest rectangle that fits into an area of a picture, upright or turned."""

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Mask = NDArray[np.bool_]


class Rectangle(NamedTuple):
    """Pixels from `left` and `top` up to, but without, `right` and `bottom`."""

    size: int
    left: int
    top: int
    right: int
    bottom: int


def largest_rectangle(area: Mask) -> Rectangle:
    """Return the largest rectangle of pixels that are all in `area`; of size 0 if it has none."""
    rows, columns = np.flatnonzero(area.any(axis=1)), np.flatnonzero(area.any(axis=0))
    if not len(rows):
        return Rectangle(0, 0, 0, 0, 0)
    first_row, first_column = int(rows[0]), int(columns[0])
    inner = area[first_row : rows[-1] + 1, first_column : columns[-1] + 1]
    best = Rectangle(0, 0, 0, 0, 0)
    heights = np.zeros(inner.shape[1], dtype=int)
    for row, filled in enumerate(inner, start=first_row):
        heights = np.where(filled, heights + 1, 0)
        size, left, right, height = _largest_under(heights.tolist())
        if size > best.size:
            sides = (left + first_column, row + 1 - height, right + first_column, row + 1)
            best = Rectangle(size, *sides)
    return best


def largest_turned_size(area: Mask, degrees: Sequence[float]) -> int:
    """Return the size, in pixels, of the largest rectangle in `area` at any of these angles."""
    return max(largest_rectangle(_turned(area, angle)).size for angle in degrees)


def _turned(area: Mask, degrees: float) -> Mask:
    """Return the part of the picture that holds `area`, turned about its middle."""
    rows, columns = np.flatnonzero(area.any(axis=1)), np.flatnonzero(area.any(axis=0))
    if not degrees or not len(rows):
        return area
    inner = np.pad(area[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1], 1)
    height, width = inner.shape
    cosine, sine = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    reach = math.hypot(height, width) / 2
    y = np.arange(-reach, reach)[:, np.newaxis]
    x = np.arange(-reach, reach)[np.newaxis, :]
    row = np.rint(y * cosine - x * sine + (height - 1) / 2).astype(int)
    column = np.rint(y * sine + x * cosine + (width - 1) / 2).astype(int)
    # The empty rim stands for all that lies outside.
    return np.asarray(inner[np.clip(row, 0, height - 1), np.clip(column, 0, width - 1)])


def _largest_under(heights: list[int]) -> tuple[int, int, int, int]:
    """Return (area, left, right, height) of the largest rectangle under a histogram."""
    best = (0, 0, 0, 0)
    stack: list[tuple[int, int]] = []
    for right, height in enumerate([*heights, 0]):
        left = right
        while stack and stack[-1][1] > height:
            left, tall = stack.pop()
            if tall * (right - left) > best[0]:
                best = (tall * (right - left), left, right, tall)
        if not stack or stack[-1][1] < height:
            stack.append((left, height))
    return best
