"""Time the search for the nearest palettes among 100,000 against working everybody out.

    python -m benchmarks.gallery_near [palettes]

Two ways of working everybody out are timed: all differences at once and every assignment by
scipy, and the same with the assignments at once as well. Beside them stand how many palettes the
bound left to be worked out, and the memory kept. Palettes are random, of several kinds, made up
for this. Times are of the processor, the median of several palettes asked about.
"""

import argparse
import statistics
import sys
import time
from collections.abc import Callable
from dataclasses import fields

import numpy as np
from scipy.optimize import linear_sum_assignment

from palettes.colour.difference import delta_e_2000_pairs
from palettes.colour.nearness import hopeful, matched, nearest, sort_crowd
from palettes.colour.spaces import Floats

PALETTES, YARNS, SHOWN = 100_000, 5, 20
ASKED, ASKED_SLOWLY = 24, 4
KINDS = ("any", "one colour", "greys", "vivid", "ladders")


def crowd_of(kind: str, count: int, dice: np.random.Generator) -> Floats:
    shape = (count, YARNS)
    labs = dice.normal((52, 0, 0), (20, 28, 28), (*shape, 3))
    if kind == "one colour":
        labs = labs[:, :1] + dice.normal(0, 3, (*shape, 3))
    elif kind == "greys":
        labs = dice.normal((52, 0, 0), (22, 2, 2), (*shape, 3))
    elif kind == "vivid":
        hue, chroma = dice.uniform(0, 2 * np.pi, shape), dice.uniform(40, 100, shape)
        light = dice.uniform(20, 90, shape)
        labs = np.stack([light, chroma * np.cos(hue), chroma * np.sin(hue)], axis=-1)
    elif kind == "ladders":
        labs = labs[:, :1] * (0, 0.7, 0.7) + dice.normal(0, 6, (*shape, 3))
        labs[..., 0] += np.linspace(15, 90, YARNS)
    labs[..., 0] = labs[..., 0].clip(0, 100)
    return labs


def by_distance(distances: Floats) -> list[int]:
    """Return the places of the nearest, the newest first of those alike."""
    order: list[int] = np.lexsort((-np.arange(len(distances)), distances)).tolist()
    return order[:SHOWN]


def by_scipy(asked: Floats, labs: Floats) -> list[int]:
    costs = delta_e_2000_pairs(asked[:, np.newaxis], labs[:, np.newaxis])
    distances = [one[linear_sum_assignment(one)].mean() for one in costs]
    return by_distance(np.round(distances, 9))


def at_once(asked: Floats, labs: Floats) -> list[int]:
    distances = matched(asked, labs).round(9)
    return by_distance(distances)


def timed(work: Callable[[Floats], list[int]], asked: Floats) -> tuple[float, list[list[int]]]:
    times, answers = [], []
    for one in asked:
        start = time.process_time()
        answers.append(work(one))
        times.append(time.process_time() - start)
    return statistics.median(times) * 1000, answers


def compare(kind: str, labs: Floats) -> None:
    start = time.process_time()
    crowd = sort_crowd(labs)
    sorting = (time.process_time() - start) * 1000
    ours, found = timed(
        lambda asked: [near.place for near in nearest(asked, crowd, SHOWN)], labs[:ASKED]
    )
    whole, expected = timed(lambda asked: at_once(asked, labs), labs[:ASKED])
    scipys, _ = timed(lambda asked: by_scipy(asked, labs), labs[:ASKED_SLOWLY])
    same = sum(one == other for one, other in zip(found, expected, strict=True))
    left = statistics.median(len(hopeful(one, crowd, SHOWN)) for one in labs[:ASKED])
    spans = [getattr(crowd.boxes, span.name) for span in fields(crowd.boxes)]
    boxes = sum(side.nbytes for span in spans for side in span)
    kept = labs.nbytes + crowd.cells.nbytes + boxes
    print(
        f"{kind:12}{ours:8.1f} ms; everybody by scipy {scipys / ours:5.1f} times as long, at once "
        f"{whole / ours:5.1f}; same {SHOWN} in {same} of {ASKED}; {left:.0f} left to work out; "
        f"sorting once {sorting:.0f} ms; {kept / 1e6:.0f} MB kept"
    )


def main(arguments: list[str]) -> None:
    parser = argparse.ArgumentParser(prog="python -m benchmarks.gallery_near")
    parser.add_argument("palettes", nargs="?", type=int, default=PALETTES)
    wanted = parser.parse_args(arguments)
    dice = np.random.default_rng(1)
    for kind in KINDS:
        labs = crowd_of(kind, wanted.palettes, dice)
        compare(kind, labs)


if __name__ == "__main__":
    main(sys.argv[1:])
