"""Time the audit of a palette, as ratios within one run.

    python -m benchmarks.audit_palette [palettes]

The yardstick is colormath, used as its documentation shows: five sRGBColor objects are made from
hex, each is converted to a LabColor once, and `delta_e_cie2000` is called for each of the ten
pairs. That wrapper calls `numpy.asscalar`, which numpy has removed; one line puts it back. Two
variants are printed beside it: the harsher one, with the LabColor objects made beforehand, and
the easier one, which converts both colours of every pair anew. Ours starts from hex as well where
it says so, and does the whole audit: three distances, a fading distance, three deficiencies,
ladder, scheme and findings.
"""

import sys
import timeit
from collections.abc import Callable, Mapping
from functools import partial
from itertools import combinations
from typing import Any

import numpy as np
from colormath.color_conversions import convert_color
from colormath.color_diff import delta_e_cie2000
from colormath.color_objects import LabColor, sRGBColor

from palettes.colour.audit import audit
from palettes.colour.contrast import compare_all
from palettes.colour.difference import delta_e_2000_matrix
from palettes.colour.spaces import Floats, Lab, hex_to_lab, srgb_to_lab
from palettes.colour.survey import survey
from palettes.colour.swatch import Fabric, Swatch

# colormath 3.0.0 still calls what numpy 1.23 took away.
np.asscalar = lambda array: array.item()  # type: ignore[attr-defined]

HEXES = ("#f3efe6", "#c9a46a", "#7a4b2c", "#2f4a5a", "#1b1b20")
FABRIC = Fabric()
MANY = 100_000
# The works take turns, so that a busy moment of the machine falls on all of them alike.
TURNS = 60
CALLS = 10
# Enough palettes one by one for a steady mean; a hundred thousand would take minutes.
ONE_BY_ONE = 400


def seconds(work: Callable[[], Any], number: int, rounds: int = 7) -> float:
    """Return the best time of one call out of so many rounds: the least disturbed one."""
    return min(timeit.repeat(work, number=number, repeat=rounds)) / number


def seconds_in_turns(works: Mapping[str, Callable[[], Any]]) -> dict[str, float]:
    """Return each work's best time of one call, every work having run once in each turn."""
    turns = [{name: seconds(work, CALLS, 1) for name, work in works.items()} for _ in range(TURNS)]
    return {name: min(turn[name] for turn in turns) for name in works}


def to_object(text: str) -> Any:
    """Return colormath's LabColor of a hex colour; it takes D50 unless told."""
    return convert_color(sRGBColor.new_from_rgb_hex(text), LabColor, target_illuminant="d65")


def ten_from_objects(colours: list[Any]) -> list[float]:
    return [delta_e_cie2000(*pair) for pair in combinations(colours, 2)]


def ten_from_hex() -> list[float]:
    return ten_from_objects([to_object(text) for text in HEXES])


def ten_converting_each_pair() -> list[float]:
    return [delta_e_cie2000(to_object(one), to_object(two)) for one, two in combinations(HEXES, 2)]


def to_swatches() -> list[Swatch]:
    return [Swatch(text, hex_to_lab(text)) for text in HEXES]


def time_one_palette() -> None:
    swatches = to_swatches()
    labs = np.array([swatch.lab for swatch in swatches])
    objects = [to_object(text) for text in HEXES]
    took = seconds_in_turns(
        {
            "colormath: ten differences from hex": ten_from_hex,
            "colormath: its Lab objects made before": lambda: ten_from_objects(objects),
            "colormath: converting every pair anew": ten_converting_each_pair,
            "Ten differences, ours, in one call": lambda: delta_e_2000_matrix(labs, labs),
            "Pair table: blur, texture, grades, fading": lambda: compare_all(swatches, FABRIC),
            "Whole audit": lambda: audit(swatches, fabric=FABRIC),
            "Whole audit, from hex": lambda: audit(to_swatches(), fabric=FABRIC),
        }
    )
    yardstick = next(iter(took.values()))
    for name, time in took.items():
        print(f"{name:41}{time * 1e3:7.3f} ms   {yardstick / time:.1f} times as fast")


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
