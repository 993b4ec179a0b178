"""Everything there is to say about one palette before it is knitted."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from palettes.colour.colour_rules import (
    VISION_DISTANCES_M,
    VisionPair,
    judge_calm,
    judge_ladder,
    judge_pairs,
    judge_scheme,
    judge_vision,
)
from palettes.colour.contrast import GRADES, Pair, list_pairs, look_closely
from palettes.colour.errors import TooFewYarns, TooManyYarns
from palettes.colour.finding import SEVERITIES, Finding, Severity
from palettes.colour.ladder import Ladder, build_ladder
from palettes.colour.quantities import Quantity, check_quantities
from palettes.colour.schemes import SchemeReading, read_scheme
from palettes.colour.stripes import as_arrays, see
from palettes.colour.swap import Swap, best_swap
from palettes.colour.swatch import Fabric, Need, Swatch
from palettes.colour.vision import look_deficient
from palettes.colour.yarn_rules import judge_bleeding, judge_care, judge_quantities

__all__ = ["Audit", "Finding", "Severity", "Verdict", "audit"]

MIN_YARNS = 2
MAX_YARNS = 8


class Verdict(StrEnum):
    """The audit in a word, from its worst finding."""

    READY = "ready"
    LOOK_AGAIN = "look_again"
    RETHINK = "rethink"


@dataclass(frozen=True, slots=True)
class Audit:
    """One palette's audit; every number inside counts yarns by their position in the palette."""

    ladder: Ladder
    pairs: tuple[Pair, ...]
    """Closest first."""
    scheme: SchemeReading
    vision: tuple[VisionPair, ...]
    """The worst pair for protan, deutan and tritan, in that order."""
    quantities: tuple[Quantity, ...]
    swap: Swap | None
    findings: tuple[Finding, ...]
    """Worst first."""

    @property
    def greys(self) -> int:
        """How many of the yarns a greyscale photo would show as different."""
        return self.ladder.distinct_greys

    @property
    def verdict(self) -> Verdict:
        """Rethink with any problem, look again with any caution, otherwise ready."""
        severities = {finding.severity for finding in self.findings}
        if Severity.PROBLEM in severities:
            return Verdict.RETHINK
        return Verdict.LOOK_AGAIN if Severity.CAUTION in severities else Verdict.READY


def audit(
    swatches: Sequence[Swatch],
    *,
    fabric: Fabric | None = None,
    needs: Sequence[Need] = (),
    spares: Sequence[Swatch] = (),
) -> Audit:
    """Return the audit of 2 to 8 yarns in the order of their letters.

    Without a fabric, a fingering shawl in garter stitch is assumed. `needs` go with the yarns by
    position, as many as there are of both; `spares` are yarns that could be swapped in.
    Raises TooFewYarns or TooManyYarns.
    """
    check_count(len(swatches))
    fabric = fabric or Fabric()
    labs, textures = as_arrays(swatches)
    look = look_closely(labs, textures)
    seen, seen_deficient = see([look, look_deficient(look, VISION_DISTANCES_M)], fabric)
    in_order = list_pairs(labs, seen)
    pairs = sorted(in_order, key=_closeness)
    ladder = build_ladder([swatch.lab.l for swatch in swatches])
    scheme = read_scheme([swatch.lab for swatch in swatches])
    vision, vision_findings = judge_vision(seen_deficient, in_order)
    quantities = check_quantities(swatches, needs)
    swap = best_swap(swatches, spares, fabric)
    findings = (
        *judge_pairs(pairs),
        *judge_quantities(quantities),
        *judge_ladder(ladder),
        *judge_calm(swatches),
        *vision_findings,
        *judge_care(swatches),
        *judge_bleeding(swatches),
        *_suggest(swap, len(swatches)),
        *judge_scheme(scheme),
    )
    return Audit(ladder, tuple(pairs), scheme, vision, quantities, swap, _worst_first(findings))


def check_count(count: int) -> None:
    """Raise TooFewYarns or TooManyYarns unless a palette may have this many yarns."""
    if count < MIN_YARNS:
        given = "1 yarn" if count == 1 else f"{count} yarns"
        raise TooFewYarns(f"{given} given; an audit compares at least {MIN_YARNS}.")
    if count > MAX_YARNS:
        raise TooManyYarns(f"{count} yarns given; a palette has at most {MAX_YARNS}.")


def _closeness(pair: Pair) -> tuple[int, float, float]:
    return -GRADES.index(pair.grade), pair.left, pair.delta_e


def _suggest(swap: Swap | None, count: int) -> Iterable[Finding]:
    if swap is not None:
        numbers = {"left_before": swap.left_before, "left_after": swap.left_after}
        yield Finding("swap", Severity.NOTE, numbers, (swap.out, count + swap.spare))


def _worst_first(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    # The sort keeps the order of the rules among findings that matter alike.
    return tuple(sorted(findings, key=lambda finding: SEVERITIES.index(finding.severity)))
