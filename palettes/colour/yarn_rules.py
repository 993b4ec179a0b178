"""What an audit says about the yarns themselves: enough of each, and how they wash together."""

from collections.abc import Iterator, Sequence

from palettes.colour.fibre import Delicacy, delicacy, is_superwash, main_kind, may_felt
from palettes.colour.finding import Finding, Severity
from palettes.colour.quantities import Quantity
from palettes.colour.spaces import chroma
from palettes.colour.swatch import Swatch

# Common practice warns of dark saturated colours beside pale ones; where dark, saturated and pale
# begin is our choice, on the scale of the ladder's words and of named colours.
BLEEDS_BELOW_L = 45.0
BLEEDS_FROM_CHROMA = 30.0
STAINS_FROM_L = 75.0


def judge_quantities(quantities: Sequence[Quantity]) -> Iterator[Finding]:
    """Yield what is short, tight or cannot be told, or else that there is enough."""
    for line in quantities:
        if line.balls_short:
            yield shortage(line)
        elif line.is_tight:
            yield _tight(line)
    unknown = tuple(line.yarn for line in quantities if line.is_enough is None)
    if unknown:
        yield Finding("yarn_unknown", Severity.NOTE, {"count": len(unknown)}, unknown)
    if quantities and all(line.is_enough and not line.is_tight for line in quantities):
        yield Finding("yarn_enough", Severity.GOOD, {"letters": len(quantities)})


def _tight(line: Quantity) -> Finding:
    over = float((line.margin or 0) * 100)
    numbers: dict[str, float | str] = {"letter": line.letter, "margin": over}
    return Finding("yarn_tight", Severity.CAUTION, numbers, (line.yarn,))


def shortage(line: Quantity) -> Finding:
    """Return what is to be said of a letter whose yarn does not suffice."""
    numbers: dict[str, float | str] = {
        "letter": line.letter,
        "balls": line.balls_short or 0,
        "grams": float(line.grams_short or 0),
        "metres": float(line.metres_short or 0),
        "grams_needed": float(line.grams_needed),
        "metres_needed": float(line.metres_needed),
    }
    return Finding("yarn_short", Severity.PROBLEM, numbers, (line.yarn,))


def judge_care(swatches: Sequence[Swatch]) -> Iterator[Finding]:
    """Yield mixed washing, wool that would felt beside treated yarn, and mixed fibres."""
    levels = {i: level for i, s in enumerate(swatches) if (level := delicacy(s)) is not None}
    if len(set(levels.values())) > 1:
        gentlest = max(levels.values())
        yarns = tuple(i for i, level in levels.items() if level is gentlest)
        code = "care_dry_clean" if gentlest is Delicacy.DRY_CLEAN else "care_hand"
        yield Finding(code, Severity.CAUTION, {"count": len(yarns)}, yarns)
    felting = tuple(i for i, swatch in enumerate(swatches) if may_felt(swatch))
    if felting and any(map(is_superwash, swatches)):
        yield Finding("felting", Severity.CAUTION, {"count": len(felting)}, felting)
    kinds = {kind for swatch in swatches if (kind := main_kind(swatch)) is not None}
    if len(kinds) > 1:
        yarns = tuple(i for i, swatch in enumerate(swatches) if main_kind(swatch) is not None)
        yield Finding("fibres_mixed", Severity.NOTE, {"kinds": len(kinds)}, yarns)


def judge_bleeding(swatches: Sequence[Swatch]) -> Iterator[Finding]:
    """Yield the saturated darks whose dye could stain the palest yarn."""
    darks = tuple(i for i, swatch in enumerate(swatches) if may_bleed(swatch))
    palest = max(range(len(swatches)), key=lambda i: swatches[i].lab.l)
    if darks and swatches[palest].lab.l >= STAINS_FROM_L:
        deepest = max(darks, key=lambda i: chroma(swatches[i].lab))
        numbers = {
            "dark_l": swatches[deepest].lab.l,
            "dark_chroma": chroma(swatches[deepest].lab),
            "pale_l": swatches[palest].lab.l,
            "count": len(darks),
        }
        yield Finding("bleeding", Severity.NOTE, numbers, (deepest, palest))


def may_bleed(swatch: Swatch) -> bool:
    """Return whether the yarn is dark and saturated enough to be worth a test."""
    return swatch.lab.l < BLEEDS_BELOW_L and chroma(swatch.lab) >= BLEEDS_FROM_CHROMA
