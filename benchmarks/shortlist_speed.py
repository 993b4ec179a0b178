"""Time the shortlist against plain Python looking at every set, in one run.

    python -m benchmarks.shortlist_speed

Plain Python starts from the same points, so the ratio is that of the search alone; the shortlist's
own time includes contrasts, families and reasons.
"""

import time
from collections.abc import Callable
from itertools import combinations

import numpy as np

from palettes.colour.shortlist import Aim, shortlist
from palettes.colour.shortlist_search import Points, best_sets, count_sets
from palettes.colour.spaces import Lab
from palettes.colour.swatch import Swatch

SEED = 5
REPEATS = 5
KEEP = 1000
PLAIN = (24, 5)
SIZES = ((24, 5), (40, 5), (40, 6), (40, 8))


def main() -> None:
    print("shortlist: median and worst of the aims and three kinds of stash, milliseconds")
    for count, choose in SIZES:
        times = [_time_shortlist(stash, choose) for stash in stashes(count)]
        flat = np.concatenate(times) * 1000
        sets = count_sets(count, choose, 0)
        print(
            f"{count} choose {choose}: {np.median(flat):7.1f} {flat.max():7.1f}   {sets:>10,} sets"
        )
    count, choose = PLAIN
    points = random_points(count, choose)
    plain = best_time(lambda: plain_best(points, choose), 1)
    ours = best_time(lambda: best_sets(points, choose, [], KEEP), REPEATS)
    print(f"{count} choose {choose}, search alone: plain Python {plain * 1000:.0f} ms,", end=" ")
    print(f"ours {ours * 1000:.1f} ms, {plain / ours:.0f} times faster")


def _time_shortlist(stash: list[Swatch], choose: int) -> list[float]:
    return [
        best_time(lambda aim=aim: shortlist(stash, choose=choose, aim=aim), REPEATS)  # type: ignore[misc]
        for aim in Aim
    ]


def best_time(work: Callable[[], object], repeats: int) -> float:
    """Return the shortest of some runs, in seconds."""
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)


def stashes(count: int) -> list[list[Swatch]]:
    """Return a mixed stash, one of greens that differ little, and one of greys."""
    rng = np.random.default_rng(SEED)
    mixed = np.stack([rng.uniform(15, 92, count), *rng.normal(0, 25, (2, count))], axis=1)
    greens = rng.normal((50, -30, 20), 6, (count, 3))
    greys = np.stack([rng.uniform(10, 95, count), *rng.normal(0, 2, (2, count))], axis=1)
    return [
        [Swatch(str(i), Lab(*lab)) for i, lab in enumerate(labs)] for labs in (mixed, greens, greys)
    ]


def random_points(count: int, choose: int) -> Points:
    rng = np.random.default_rng(SEED)

    def whole(top: int, *shape: int) -> np.ndarray[tuple[int, ...], np.dtype[np.int32]]:
        return rng.integers(0, top, shape, dtype=np.int32)

    return Points(
        pair=whole(10_000, count, count),
        worst=whole(300_000, count, count),
        yarn=whole(80_000, count),
        rung=np.int32(1) << whole(3, count),
        rungs=whole(200_000, 8),
        in_group=whole(2, count),
        grouped=whole(200_000, choose + 1),
    )


def plain_best(points: Points, choose: int) -> list[tuple[int, tuple[int, ...]]]:
    """Return the best sets the plain way, from lists."""
    pair, worst = points.pair.tolist(), points.worst.tolist()
    yarn, rung, group = points.yarn.tolist(), points.rung.tolist(), points.in_group.tolist()
    rungs, grouped = points.rungs.tolist(), points.grouped.tolist()
    scored = []
    for members in combinations(range(len(yarn)), choose):
        pairs = list(combinations(members, 2))
        seen = 0
        for member in members:
            seen |= rung[member]
        score = (
            sum(pair[one][two] for one, two in pairs)
            + min(worst[one][two] for one, two in pairs)
            + sum(yarn[member] for member in members)
            + rungs[seen]
            + grouped[sum(group[member] for member in members)]
        )
        scored.append((-score, members))
    return sorted(scored)[:KEEP]


if __name__ == "__main__":
    main()
