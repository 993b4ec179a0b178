"""The Craft Yarn Council's yarn weight categories, as guidelines for gauge and needle.

Source: Craft Yarn Council's www.YarnStandards.com, Standard Yarn Weight System.
"""

from typing import NamedTuple


class YarnWeight(NamedTuple):
    """One category: stocking-stitch gauge in stitches to 4 in and needle in mm; None is open."""

    category: int
    name: str
    examples: str
    stitches_min: int | None
    stitches_max: int
    needle_mm_min: float
    needle_mm_max: float | None

    @property
    def label(self) -> str:
        return f"{self.category} {self.name} ({self.examples})"


YARN_WEIGHTS = (
    YarnWeight(0, "Lace", "fingering, 10-count crochet thread", 33, 40, 1.5, 2.25),
    YarnWeight(1, "Super Fine", "sock, fingering, baby", 27, 32, 2.25, 3.25),
    YarnWeight(2, "Fine", "sport, baby", 23, 26, 3.25, 3.75),
    YarnWeight(3, "Light", "DK, light worsted", 21, 24, 3.75, 4.5),
    YarnWeight(4, "Medium", "worsted, afghan, aran", 16, 20, 4.5, 5.5),
    YarnWeight(5, "Bulky", "chunky, craft, rug", 12, 15, 5.5, 8.0),
    YarnWeight(6, "Super Bulky", "super bulky, roving", 7, 11, 8.0, 12.75),
    YarnWeight(7, "Jumbo", "jumbo, roving", None, 6, 12.75, None),
)


def yarn_weight_choices() -> list[tuple[int, str]]:
    """Return (category, label) pairs for a form or model field."""
    return [(weight.category, weight.label) for weight in YARN_WEIGHTS]
