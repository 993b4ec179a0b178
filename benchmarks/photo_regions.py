"""How well yarns are found in photos: invented scenes in which each yarn's place is known.

    python -m benchmarks.photo_regions             the kinds and seeds that were tuned on
    python -m benchmarks.photo_regions --held-out  those that were not

A yarn is found right by one box alone that lies on it (at least 90 % of the box's area) and has its
colour (within 2 CIEDE2000). A box belongs to what most of its area lies on.
"""

import argparse
from collections import Counter
from collections.abc import Callable, Iterator, Sequence

import numpy as np

from palettes.colour.difference import delta_e_2000_pairs
from palettes.colour.light import Box, crop
from palettes.colour.regions import propose_boxes
from palettes.colour.spaces import Floats, linear_to_lab
from tests.core.yarn_scenes import HELD_OUT_KINDS, KINDS, NOBODY, Kind, Scene, draw_scene

TUNED_SEEDS = range(0, 12, 2)
HELD_OUT_SEEDS = range(1, 9, 2)
# More than there are, as when a palette has more colours than the photo: boxes on nothing show.
SURPLUS = 3
ON_YARN = 0.9
SAME_COLOUR = 2.0
HEADINGS = ("yarns", "right", "split", "missed", "off", "nothing")

Propose = Callable[[Floats, int], Sequence[Box]]


def score(scene: Scene, boxes: Sequence[Box]) -> Counter[str]:
    """Return how many yarns there are, are right, split, missed or off, and boxes on nothing."""
    placed: dict[int, list[bool]] = {}
    for box in boxes:
        yarn, share = _owner(scene, box)
        placed.setdefault(yarn, []).append(share >= ON_YARN and _has_colour(scene, yarn, box))
    counts = Counter(yarns=scene.count, nothing=len(placed.pop(NOBODY, [])))
    for yarn in range(scene.count):
        counts[_verdict(placed.get(yarn, []))] += 1
    return counts


def _verdict(boxes: list[bool]) -> str:
    if len(boxes) == 1:
        return "right" if boxes[0] else "off"
    return "split" if boxes else "missed"


def _owner(scene: Scene, box: Box) -> tuple[int, float]:
    """Return whose most of the box is, and what share of it that is."""
    inside = crop(scene.owners[..., np.newaxis].astype(np.float64), box)
    owners, sizes = np.unique(inside, return_counts=True)
    return int(owners[sizes.argmax()]), float(sizes.max() / inside.size)


def _has_colour(scene: Scene, yarn: int, box: Box) -> bool:
    if yarn == NOBODY:
        return False
    measured = crop(scene.photo, box).reshape(-1, 3).mean(axis=0)
    pair = linear_to_lab(np.stack([measured, scene.colour(yarn)]))
    return bool(delta_e_2000_pairs(pair[0], pair[1]) < SAME_COLOUR)


def scenes(kinds: dict[str, Kind], seeds: Sequence[int]) -> Iterator[tuple[str, Scene]]:
    for name, kind in kinds.items():
        for seed in seeds:
            yield name, draw_scene(kind, seed)


def tally(
    drawn: Iterator[tuple[str, Scene]], propose: Propose
) -> tuple[dict[str, Counter[str]], dict[str, Counter[str]]]:
    """Return the scores by kind, asked for as many as there are, and for three more."""
    exact: dict[str, Counter[str]] = {}
    surplus: dict[str, Counter[str]] = {}
    for name, scene in drawn:
        for scores, more in ((exact, 0), (surplus, SURPLUS)):
            boxes = propose(scene.photo, scene.count + more)
            scores.setdefault(name, Counter()).update(score(scene, boxes))
    return exact, surplus


def print_scores(title: str, scores: dict[str, Counter[str]]) -> None:
    print(f"{title:<48}" + "".join(f"{heading:>9}" for heading in HEADINGS))
    for name, counts in [*scores.items(), ("all", sum(scores.values(), Counter()))]:
        shares = "".join(f"{counts[h] / counts['yarns']:>9.1%}" for h in HEADINGS[1:-1])
        print(f"{name:<48}{counts['yarns']:>9}{shares}{counts['nothing']:>9}")


def main() -> None:
    parser = argparse.ArgumentParser(description="Measure how well yarns are found.")
    parser.add_argument("--held-out", action="store_true", help="scenes that were not tuned on")
    held_out = parser.parse_args().held_out

    def propose(photo: Floats, count: int) -> list[Box]:
        return propose_boxes(photo, count=count)

    if held_out:
        parts = {"tuned kinds, other seeds": KINDS, "other kinds, other seeds": HELD_OUT_KINDS}
    else:
        parts = {"tuned kinds and seeds": KINDS}
    for part, kinds in parts.items():
        seeds = HELD_OUT_SEEDS if held_out else TUNED_SEEDS
        exact, surplus = tally(scenes(kinds, seeds), propose)
        print_scores(f"{part}: asked for as many", exact)
        print_scores(f"{part}: asked for {SURPLUS} more", surplus)


if __name__ == "__main__":
    main()
