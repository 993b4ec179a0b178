"""Time the audit of a palette, as ratios within one run.

    python -m benchmarks.audit_palette [palettes]

The yardstick is colormath: its `delta_e_*` wrappers call a function numpy has removed, so each
pair goes through its objects and its matrix function by hand, as the wrapper would have done.
"""

import sys
import timeit
from collections.abc import Callable
from functools import partial
from itertools import combinations
from typing import Any

import numpy as np
from colormath.color_conversions import convert_color
from colormath.color_diff_matrix import delta_e_cie2000
from colormath.color_objects import LabColor, sRGBColor

from palettes.colour.audit import audit
from palettes.colour.contrast import compare_all
from palettes.colour.difference import delta_e_2000_matrix
from palettes.colour.spaces import Floats, Lab, hex_to_lab, srgb_to_lab
from palettes.colour.survey import survey
from palettes.colour.swatch import Fabric, Swatch

HEXES = ("#f3efe6", "#c9a46a", "#7a4b2c", "#2f4a5a", "#1b1b20")
FABRIC = Fabric()
MANY = 100_000
# Enough palettes one by one for a steady mean; a hundred thousand would take minutes.
ONE_BY_ONE = 400


def seconds(work: Callable[[], Any], number: int) -> float:
    """Return the best time of one call out of seven rounds: the least disturbed one."""
    return min(timeit.repeat(work, number=number, repeat=7)) / number


def to_object(text: str) -> Any:
    """Return colormath's LabColor of a hex colour; it takes D50 unless told."""
    return convert_color(sRGBColor.new_from_rgb_hex(text), LabColor, target_illuminant="d65")


def object_difference(first: Any, second: Any) -> float:
    """Return CIEDE2000 of two LabColors, doing what colormath's broken wrapper meant to."""
    vector = np.array([first.lab_l, first.lab_a, first.lab_b])
    matrix = np.array([(second.lab_l, second.lab_a, second.lab_b)])
    return float(delta_e_cie2000(vector, matrix)[0])


def ten_from_objects(colours: list[Any]) -> list[float]:
    return [object_difference(*pair) for pair in combinations(colours, 2)]


def ten_from_hex() -> list[float]:
    return [
        object_difference(to_object(one), to_object(two)) for one, two in combinations(HEXES, 2)
    ]


def time_one_palette() -> None:
    swatches = [Swatch(text, hex_to_lab(text)) for text in HEXES]
    labs = np.array([swatch.lab for swatch in swatches])
    objects = [to_object(text) for text in HEXES]
    yardstick = seconds(lambda: ten_from_objects(objects), 50)
    print(f"Ten differences, colormath's objects     {yardstick * 1e3:7.3f} ms   1.0")
    for what, work in (
        ("the same, converting each pair from hex", ten_from_hex),
        ("Ten differences, ours, in one call", lambda: delta_e_2000_matrix(labs, labs)),
        ("Pair table: blur, texture, grades, fading", lambda: compare_all(swatches, FABRIC)),
        ("Whole audit", lambda: audit(swatches, fabric=FABRIC)),
    ):
        took = seconds(work, 50)
        print(f"{what:41}{took * 1e3:7.3f} ms   {yardstick / took:.1f} times as fast")


def time_many_palettes(count: int) -> None:
    generator = np.random.default_rng(1)
    labs = srgb_to_lab(generator.uniform(0, 1, (count, 5, 3)))
    textures = generator.uniform(0, 10, (count, 5))
    few = [as_palette(*rows) for rows in zip(labs[:ONE_BY_ONE], textures[:ONE_BY_ONE], strict=True)]
    alone = seconds(lambda: [audit(palette, fabric=FABRIC) for palette in few], 1) / len(few)
    print(f"\nOne palette by itself                    {alone * 1e6:7.1f} us   1.0")
    for what, with_vision in (("pairs and ladder", False), ("and colour vision", True)):
        work = partial(survey, labs, textures, FABRIC, with_vision=with_vision)
        took = seconds(work, 1) / count
        name = f"One of {count:,}: {what}"
        print(f"{name:41}{took * 1e6:7.1f} us   {alone / took:.1f} times as fast")


def as_palette(labs: Floats, textures: Floats) -> list[Swatch]:
    return [
        Swatch("", Lab(*lab), spread)
        for lab, spread in zip(labs.tolist(), textures.tolist(), strict=True)
    ]


def main() -> None:
    time_one_palette()
    time_many_palettes(int(sys.argv[1]) if len(sys.argv) > 1 else MANY)


if __name__ == "__main__":
    main()
