"""The colour of one spot of a photo, as a participant picks it."""

from dataclasses import dataclass
from typing import Final

from palettes.colour.light import Box, ClippedPhoto, check_not_clipped
from palettes.colour.measure import Measurement, measure_pixels
from palettes.models import Photo
from palettes.photos import read_patch

# Half the side of the square spot, as a share of the photo's long side. Our choice: on a photo of
# five skeins side by side the medium spot covers about a quarter of one skein's width.
RADII: Final = {"small": 0.01, "medium": 0.025, "large": 0.05}


@dataclass(frozen=True, slots=True)
class Spot:
    """A square spot of a photo: its centre in fractions of width and height, and what it shows."""

    x: float
    y: float
    radius: str
    box: Box
    measurement: Measurement
    is_burnt_out: bool

    @property
    def x_percent(self) -> float:
        return round(self.x * 100, 2)

    @property
    def y_percent(self) -> float:
        return round(self.y * 100, 2)

    @property
    def left_percent(self) -> float:
        return round(self.box.left * 100, 2)

    @property
    def top_percent(self) -> float:
        return round(self.box.top * 100, 2)

    @property
    def width_percent(self) -> float:
        return round((self.box.right - self.box.left) * 100, 2)

    @property
    def height_percent(self) -> float:
        return round((self.box.bottom - self.box.top) * 100, 2)


def spot_box(photo: Photo, x: float, y: float, radius: str) -> Box:
    """Return the spot's box in fractions, moved inside the photo where it would stick out."""
    half = RADII[radius] * max(photo.width, photo.height)
    across, down = half / photo.width, half / photo.height
    x = min(max(x, across), 1 - across) if across < 0.5 else 0.5
    y = min(max(y, down), 1 - down) if down < 0.5 else 0.5
    across, down = min(across, 0.5), min(down, 0.5)
    return Box(
        left=max(x - across, 0.0),
        top=max(y - down, 0.0),
        right=min(x + across, 1.0),
        bottom=min(y + down, 1.0),
    )


def read_spot(photo: Photo, x: float, y: float, radius: str) -> Spot:
    """Return the spot round (x, y): the mean in linear light, and the spread about it."""
    box = spot_box(photo, x, y, radius)
    with photo.image.open("rb") as file:
        pixels = read_patch(file, box)
    try:
        check_not_clipped(pixels, "the spot")
        is_burnt_out = False
    except ClippedPhoto:
        is_burnt_out = True
    return Spot(x, y, radius, box, measure_pixels(pixels), is_burnt_out)
