"""Measure what the contrast thresholds mean: on Munsell's greys, and on named and painted colours.

    python -m benchmarks.contrast_grades

The figures in docs/colour.md come from here.
"""

import csv
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

import numpy as np

from palettes.colour.contrast import Grade, Pair, compare, compare_all
from palettes.colour.fabric import stripe_gains, texture_left
from palettes.colour.ladder import GREY_STEP
from palettes.colour.spaces import (
    D50_XY,
    D65_WHITE,
    Lab,
    adapt,
    as_lab,
    hex_to_lab,
    lab_to_xyz,
    white_xyz,
    xyz_to_lab,
)
from palettes.colour.swatch import TYPICAL_SPREAD, Fabric, Swatch

REFERENCE = Path(__file__).parent.parent / "fixtures" / "reference"
SHAWL = Fabric()
FABRICS = {
    "fingering": Fabric(28, 56),
    "shawl (default)": SHAWL,
    "worsted": Fabric(18, 34),
    "bulky": Fabric(10, 18),
}
DISTANCES_M = (0.4, 0.7, 1.5, 3.0, 5.0, 8.0)
READS = (Grade.STRONG, Grade.WORKABLE)


def rows(name: str) -> list[dict[str, str]]:
    with (REFERENCE / name).open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def colorchecker() -> list[Lab]:
    """Return the 24 patches of the 2005 edition, adapted from D50 to D65."""
    d50 = white_xyz(D50_XY)
    patches = [
        lab_to_xyz([float(row[f"{axis}_2005_D50"]) for axis in "Lab"], d50)
        for row in rows("colorchecker24.csv")
    ]
    return [as_lab(xyz_to_lab(adapt(xyz, d50, D65_WHITE))) for xyz in patches]


def named() -> list[Lab]:
    return [hex_to_lab(row["hex"]) for row in rows("iscc_nbs_centroids.csv")]


def grey_pair(dark: float, light: float) -> Pair:
    return compare(Swatch("", Lab(dark, 0, 0)), Swatch("", Lab(light, 0, 0)), SHAWL)


def print_gains() -> None:
    print("Left at mid-stripe, default shawl: lightness, red-green, blue-yellow; texture")
    gains, texture = stripe_gains(SHAWL, DISTANCES_M), texture_left(SHAWL, DISTANCES_M)
    for distance, signals, noise in zip(DISTANCES_M, gains, texture, strict=True):
        print(
            f"  {distance:4.1f} m  " + "  ".join(f"{gain:4.2f}" for gain in signals),
            f" {noise:4.2f}",
        )


def print_munsell() -> None:
    print("Greys apart by whole Munsell values: CIEDE2000 left, and grades")
    values = [float(row["Lstar_from_Y_ASTM"]) for row in rows("munsell_value.csv")]
    for steps in (1, 2, 3):
        pairs = [
            grey_pair(dark, light) for dark, light in zip(values, values[steps:], strict=False)
        ]
        left = [pair.left for pair in pairs]
        grades = sorted({pair.grade.value for pair in pairs})
        print(f"  {steps}: {min(left):.1f} to {max(left):.1f}  {', '.join(grades)}")
    between = [upper - lower for lower, upper in pairwise(values)]
    print(f"  one value is {min(between):.1f} to {max(between):.1f} in L*")


def print_shares(name: str, labs: list[Lab], fabric: Fabric) -> None:
    pairs = compare_all([Swatch("", lab) for lab in labs], fabric)
    shares = [sum(pair.grade is grade for pair in pairs) / len(pairs) for grade in Grade]
    one_grey = [pair for pair in pairs if pair.delta_l < GREY_STEP]
    reading = sum(pair.grade in READS for pair in one_grey) / len(one_grey)
    print(
        f"  {name:28}" + "  ".join(f"{share:4.0%}" for share in shares),
        f" {len(one_grey) / len(pairs):4.0%}  {reading:4.0%}",
    )


def print_grades() -> None:
    print("Share of pairs strong, workable, close, lost; one grey; of those, reading anyway")
    for name, fabric in FABRICS.items():
        print_shares(f"ColorChecker, {name}", colorchecker(), fabric)
    print_shares("ISCC-NBS centroids, shawl", named(), SHAWL)


def print_spread() -> None:
    print("A pair of L* 50 and 65, both yarns of one dye style: left, grade")
    for style, spread in TYPICAL_SPREAD.items():
        one, other = (Swatch("", Lab(value, 0, 0), spread) for value in (50, 65))
        pair = compare(one, other, SHAWL)
        print(f"  {style:11} {spread:4.0f}  {pair.left:4.1f}  {pair.grade.value}")


def print_fading() -> None:
    print("Metres at which equal differences fade: lightness alone, hue alone")
    for target in (10.0, 20.0, 30.0):
        light = fading_at(target, lambda size: (Lab(50, 0, 0), Lab(50 + size, 0, 0)))
        hue = fading_at(target, lambda size: (Lab(50, size, 1), Lab(50, -size, 2)))
        print(f"  CIEDE2000 {target:.0f}: {light:.1f} m, {hue:.1f} m")


def fading_at(target: float, pair_of: Callable[[float], tuple[Lab, Lab]]) -> float:
    """Return where the pair whose plain difference is `target` fades."""
    sizes = np.linspace(0.5, 45, 400)
    pairs = [
        compare(Swatch("", one), Swatch("", other), SHAWL)
        for one, other in (pair_of(size) for size in sizes.tolist())
    ]
    nearest = min(pairs, key=lambda pair: abs(pair.delta_e - target))
    return nearest.fades_at_m or 0.0


def main() -> None:
    print_gains()
    print_munsell()
    print_grades()
    print_spread()
    print_fading()


if __name__ == "__main__":
    main()
