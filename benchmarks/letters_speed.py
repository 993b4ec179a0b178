"""Time letter plans for a crowd, against plain Python trying every assignment, in one run.

    python -m benchmarks.letters_speed

Plain Python is given the pairs' contrasts, and so is compared with the search alone.
"""

import time
from itertools import combinations, pairwise, permutations

import numpy as np

from palettes.colour.contrast import Grade
from palettes.colour.letters import (
    ALPHABET,
    NEEDS,
    Meeting,
    left_for,
    plan_letters,
    plan_many,
)
from palettes.colour.pair_matrix import pairs_left, square
from palettes.colour.spaces import Floats, Lab
from palettes.colour.swatch import Fabric, Need, Swatch

SEED = 3
PALETTES = 100_000
PLAIN_PALETTES = 200
YARNS = 5


def main() -> None:
    rng = np.random.default_rng(SEED)
    shape = (PALETTES, YARNS)
    labs = np.stack([rng.uniform(12, 94, shape), *rng.normal(0, 25, (2, *shape))], axis=-1)
    textures = np.array([0.0, 2.0, 4.0, 8.0, 12.0])[rng.integers(0, 5, shape)]
    for name, meetings in (("a chain of 4", chain(YARNS)), ("all 10", everyone(YARNS))):
        start, cpu = time.perf_counter(), time.process_time()
        plans = plan_many(labs, textures, meetings)
        took, cpu = time.perf_counter() - start, time.process_time() - cpu
        unread = np.mean(plans.margins.min(axis=1) < 0)
        print(f"{PALETTES:,} palettes, {name} meetings: {took:.2f} s ({cpu:.2f} s of processor),")
        print(f"  {unread:.1%} with a meeting that does not read")
        compare_with_plain(labs, textures, meetings, took)
        with_amounts(labs, textures, meetings, cpu)
    eight = [Swatch(str(i), Lab(*lab)) for i, lab in enumerate(rng.normal(50, 20, (8, 3)))]
    start = time.perf_counter()
    plan_letters(eight, everyone(8))
    print(f"one palette of 8, all 28 meetings: {(time.perf_counter() - start) * 1000:.0f} ms")


def chain(count: int) -> list[Meeting]:
    return [Meeting(one, two, Grade.WORKABLE) for one, two in pairwise(ALPHABET[:count])]


def everyone(count: int) -> list[Meeting]:
    needs = tuple(NEEDS)
    return [
        Meeting(one, two, needs[place % len(needs)])
        for place, (one, two) in enumerate(combinations(ALPHABET[:count], 2))
    ]


def with_amounts(labs: Floats, textures: Floats, meetings: list[Meeting], before: float) -> None:
    """Time the same where every yarn suffices, one in four does for A alone, and none does."""
    rng = np.random.default_rng(SEED)
    needs = [Need(letter, 50, 200) for letter in ALPHABET[:YARNS]]
    plenty = np.full((PALETTES, YARNS, 2), (100.0, 400.0))
    some = np.where(rng.random((PALETTES, YARNS, 1)) < 0.25, plenty * 0.4, plenty)
    needs[0] = Need("A", 30, 120)
    for name, held in (("plenty", plenty), ("some scarce", some), ("all scarce", plenty * 0.4)):
        start = time.process_time()
        plan_many(labs, textures, meetings, held=held, needs=needs)
        cpu = time.process_time() - start
        print(f"  with amounts, {name}: {cpu:.2f} s of processor, {cpu / before:.1f} times as long")


def compare_with_plain(
    labs: Floats, textures: Floats, meetings: list[Meeting], took: float
) -> None:
    left = pairs_left(labs[:PLAIN_PALETTES], textures[:PLAIN_PALETTES], Fabric())
    tables = [
        {needs: square(left_for(one, needs), YARNS).tolist() for needs in NEEDS}
        for one in (
            type(left)(at_arm, throughout)
            for at_arm, throughout in zip(left.at_arm, left.throughout, strict=True)
        )
    ]
    start = time.perf_counter()
    for table in tables:
        plain_best(table, meetings)
    plain = (time.perf_counter() - start) / PLAIN_PALETTES
    ratio = plain / (took / PALETTES)
    print(f"  plain Python, contrasts given: {plain * 1000:.2f} ms each; {ratio:.0f} times faster")


def plain_best(table: dict[Grade, list[list[float]]], meetings: list[Meeting]) -> tuple[int, ...]:
    """Return the best assignment the plain way, from lists."""
    asked = [
        (ALPHABET.index(m.first), ALPHABET.index(m.second), table[m.needs], NEEDS[m.needs])
        for m in meetings
    ]
    return max(
        permutations(range(YARNS)),
        key=lambda way: sorted(left[way[one]][way[two]] - least for one, two, left, least in asked),
    )


if __name__ == "__main__":
    main()
