"""Time the pictures of yarns knitted together, and what looking once from each distance saves.

python -m benchmarks.pictures_speed
"""

import time
import timeit
from collections.abc import Callable

import benchmarks.site  # noqa: F401  (Django's settings, for the module that stores pictures)
from palettes.colour.sight import Sight
from palettes.colour.spaces import Lab
from palettes.colour.swatch import Fabric, Swatch
from palettes.colour.textures import (
    SURFACES,
    Texture,
    chart_of,
    knit,
    seen_from,
    seen_from_each,
    yarns_needed,
)
from palettes.pictures import DISTANCES_M, Shown, Strand, draw, picture_file

YARNS = (
    Swatch("navy", Lab(25, 5, -30), spread=3.0, dye_style="tonal"),
    Swatch("oat", Lab(85, 0, 12), spread=8.0, dye_style="speckled"),
    Swatch("brick", Lab(45, 45, 30), spread=12.0, dye_style="variegated"),
)
ROUNDS = 7


def milliseconds(work: Callable[[], object]) -> float:
    """Return the best time of one call on one processor: the least disturbed one."""
    return 1000 * min(timeit.repeat(work, number=1, repeat=ROUNDS, timer=time.process_time))


def main() -> None:
    print("picture: drawn, drawn and stored as WebP (ms), and its size (kB)")
    for texture in Texture:
        strands = tuple(Strand(yarn) for yarn in YARNS[: yarns_needed(texture)])
        shown = Shown(texture, strands, Fabric(), Sight.COLOUR)
        drawn = milliseconds(lambda shown=shown: draw(shown))  # type: ignore[misc]
        stored = milliseconds(lambda shown=shown: picture_file.__wrapped__(shown))  # type: ignore[misc]
        size = len(picture_file(shown)) / 1000
        print(f"{texture:26} {drawn:6.0f} {stored:6.0f} {size:6.0f}")
    chart = chart_of(Texture.MOSAIC, rows=24, stitches=16)
    picture = knit(chart, YARNS, Fabric(), surface=SURFACES[Texture.MOSAIC])
    each = milliseconds(lambda: seen_from_each(picture, Fabric(), DISTANCES_M))
    apart = milliseconds(lambda: [seen_from(picture, Fabric(), metres) for metres in DISTANCES_M])
    print(f"three distances together {each:.0f} ms, one by one {apart:.0f} ms: {apart / each:.2f}")


if __name__ == "__main__":
    main()
