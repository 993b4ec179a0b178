"""What an audit says about the colours: pairs, ladder, calm, colour vision, scheme."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from palettes.colour.contrast import (
    ACROSS_ROOM_M,
    ARMS_LENGTH_M,
    CLOSE_FROM,
    STRONG_FROM,
    Grade,
    Pair,
    grade_of,
)
from palettes.colour.finding import Finding, Severity
from palettes.colour.ladder import GREY_STEP, Ladder
from palettes.colour.schemes import SchemeReading
from palettes.colour.stripes import Seen
from palettes.colour.swatch import Swatch
from palettes.colour.vision import Deficiency

# A page of one complaint each for 28 pairs helps nobody; the pair table has them all.
MAX_PAIR_FINDINGS = 3

# CIEDE2000 of spread. Our choice: a calm yarn reads as one colour at knitting distance, a busy
# one as several. Between them lie the tonal yarns, which are neither.
CALM_BELOW = 5.0
BUSY_FROM = 7.0

# Our choice: fewer greys than a dark, a middle and a light.
ENOUGH_GREYS = 3

VISION_DISTANCES_M = (ARMS_LENGTH_M, ACROSS_ROOM_M)

_READS = (Grade.STRONG, Grade.WORKABLE)


@dataclass(frozen=True, slots=True)
class VisionPair:
    """The pair that somebody with this deficiency tells apart worst, as seen by them."""

    kind: Deficiency
    first: int
    second: int
    left: float
    grade: Grade


def judge_pairs(pairs: Sequence[Pair]) -> Iterator[Finding]:
    """Yield what there is to say about the pairs, which come closest first."""
    failing = [pair for pair in pairs if pair.grade not in _READS]
    for pair in failing[:MAX_PAIR_FINDINGS]:
        yield _failing_pair(pair)
    if failing[MAX_PAIR_FINDINGS:]:
        numbers = {"count": len(failing) - MAX_PAIR_FINDINGS, "pairs": len(pairs)}
        yield Finding("more_close_pairs", Severity.CAUTION, numbers)
    for pair in [pair for pair in pairs if is_hue_only(pair)][:MAX_PAIR_FINDINGS]:
        yield Finding("hue_only", Severity.NOTE, _pair_numbers(pair), (pair.first, pair.second))
    if not failing:
        closest = pairs[0]
        code = "all_strong" if closest.grade is Grade.STRONG else "all_read"
        yarns = (closest.first, closest.second)
        yield Finding(code, Severity.GOOD, _pair_numbers(closest), yarns)


def is_hue_only(pair: Pair) -> bool:
    """Return whether the pair is one grey in a photo and yet two plainly different hues."""
    return pair.delta_l < GREY_STEP and pair.delta_e >= STRONG_FROM


def _failing_pair(pair: Pair) -> Finding:
    lost = pair.grade is Grade.LOST
    severity = Severity.PROBLEM if lost else Severity.CAUTION
    code = "pair_lost" if lost else "pair_close"
    if pair.grade_if_solid in _READS:
        code = "pair_hidden"
    return Finding(code, severity, _pair_numbers(pair), (pair.first, pair.second))


def _pair_numbers(pair: Pair) -> dict[str, float | str]:
    numbers: dict[str, float | str] = {
        "delta_l": pair.delta_l,
        "delta_e": pair.delta_e,
        "left": pair.left,
        "left_in_hand": pair.left_in_hand,
        "left_at_arm": pair.left_at_arm,
        "left_across_room": pair.left_across_room,
        "hidden": pair.hidden,
        "grade": pair.grade.value,
    }
    if pair.fades_at_m is not None:
        numbers["fades_at_m"] = pair.fades_at_m
    return numbers


def judge_ladder(ladder: Ladder) -> Iterator[Finding]:
    """Yield the rungs that are missing and whether a greyscale photo would show enough greys."""
    count = len(ladder.order)
    reach = sum(ladder.gaps)
    numbers = {"reach": reach, "greys": ladder.distinct_greys, "yarns": count}
    if count >= ENOUGH_GREYS:
        for word in ladder.missing:
            # Between two ends a medium yarn is missing; beside one end it would be the other end.
            if word == "medium" and len(ladder.missing) > 1:
                continue
            severity = Severity.NOTE if word == "medium" else Severity.CAUTION
            yield Finding(f"no_{word}", severity, numbers)
        if not ladder.missing:
            ends = (ladder.order[0], ladder.order[-1])
            yield Finding("full_ladder", Severity.GOOD, numbers, ends)
    if ladder.distinct_greys < min(count, ENOUGH_GREYS):
        yield Finding("few_greys", Severity.CAUTION, numbers)


def is_busy(swatch: Swatch) -> bool:
    """Return whether the yarn reads as several colours rather than one."""
    return swatch.texture >= BUSY_FROM


def is_calm(swatch: Swatch) -> bool:
    """Return whether the yarn reads as one colour."""
    return swatch.texture < CALM_BELOW


def judge_calm(swatches: Sequence[Swatch]) -> Iterator[Finding]:
    """Yield whether at least half the yarns are busy and none is calm enough to ground them."""
    busy = tuple(i for i, swatch in enumerate(swatches) if is_busy(swatch))
    if 2 * len(busy) >= len(swatches) and not any(map(is_calm, swatches)):
        numbers = {"busy": len(busy), "yarns": len(swatches)}
        yield Finding("no_calm", Severity.CAUTION, numbers, busy)


def judge_scheme(reading: SchemeReading) -> Iterator[Finding]:
    """Yield the palette's scheme by its colour-theory name."""
    numbers = {
        "arc": reading.arc,
        "hues": len(reading.hues),
        "neutrals": len(reading.neutrals),
    }
    yield Finding(f"scheme_{reading.scheme}", Severity.NOTE, numbers)


def judge_vision(
    seen: Seen, pairs: Sequence[Pair]
) -> tuple[tuple[VisionPair, ...], tuple[Finding, ...]]:
    """Return the worst pair for each deficiency, and findings where one stops reading.

    `seen` is what `VISION_DISTANCES_M` leave of a palette for each kind, and `pairs` what
    everybody else sees of it, in the same order.
    """
    reading = [i for i, pair in enumerate(pairs) if pair.grade in _READS]
    worst, findings = [], []
    for kind, rows in zip(Deficiency, seen.left.T.tolist(), strict=True):
        # Lost ones come first, then those with the least left.
        ranks = [(at_arm >= CLOSE_FROM, min(at_arm, across)) for at_arm, across in rows]
        place = ranks.index(min(ranks))
        worst.append(_as_seen(kind, pairs[place], rows[place]))
        if reading:
            place = min(reading, key=ranks.__getitem__)
            newly = _as_seen(kind, pairs[place], rows[place])
            if newly.grade not in _READS:
                findings.append(_vision_finding(newly))
    return tuple(worst), tuple(findings)


def _as_seen(kind: Deficiency, pair: Pair, left: Sequence[float]) -> VisionPair:
    """Return the pair with what this kind has left of it at arm's length and across a room."""
    return VisionPair(kind, pair.first, pair.second, min(left), grade_of(*left))


def _vision_finding(pair: VisionPair) -> Finding:
    severity = Severity.CAUTION if pair.grade is Grade.LOST else Severity.NOTE
    numbers: dict[str, float | str] = {"left": pair.left, "grade": pair.grade.value}
    return Finding(f"vision_{pair.kind}", severity, numbers, (pair.first, pair.second))
