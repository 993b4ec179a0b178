"""An audit as plain data, for `--json` and anything else that leaves the program.

The shape is documented in docs/commands.md; add to it, but do not rename.
"""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from palettes.colour.audit import Audit
from palettes.colour.contrast import Pair
from palettes.colour.families import families_of, family_of, shade_of
from palettes.colour.finding import Finding
from palettes.colour.ladder import Ladder, lightness_word
from palettes.colour.quantities import Quantity
from palettes.colour.spaces import Lab, chroma, hue_angle, lab_to_hex
from palettes.colour.swap import Swap
from palettes.colour.swatch import Swatch
from palettes.colour.wording import describe, summarise

DIGITS = 4


def report(
    audit: Audit,
    swatches: Sequence[Swatch],
    spares: Sequence[Swatch] = (),
    *,
    imperial: bool = False,
) -> dict[str, Any]:
    """Return the audit of these yarns as JSON-ready dicts, lists, strings and numbers.

    Numbers are always in grams and metres; `imperial` changes only what the words say.
    """
    names = [swatch.name for swatch in (*swatches, *spares)]
    return {
        "verdict": audit.verdict.value,
        "summary": summarise(audit),
        "scheme": audit.scheme.scheme.value,
        "yarns": [yarn(swatch) for swatch in swatches],
        "ladder": _ladder(audit.ladder),
        "pairs": [_pair(pair, names) for pair in audit.pairs],
        "vision": [
            {
                "deficiency": worst.kind.value,
                "first": names[worst.first],
                "second": names[worst.second],
                "left": _short(worst.left),
                "grade": worst.grade.value,
            }
            for worst in audit.vision
        ],
        "quantities": [_quantity(line, names) for line in audit.quantities],
        "swap": _swap(audit.swap, names, len(swatches)),
        "findings": [_finding(finding, names, imperial=imperial) for finding in audit.findings],
    }


def yarn(swatch: Swatch) -> dict[str, Any]:
    """Return one yarn's colour in every form the reports use."""
    return {
        "name": swatch.name,
        "hex": lab_to_hex(swatch.lab),
        "lab": _lab(swatch.lab),
        "chroma": _short(chroma(swatch.lab)),
        "hue_angle": _short(hue_angle(swatch.lab)),
        "lightness": lightness_word(swatch.lab.l),
        "family": family_of(swatch.lab).value,
        "families": [family.value for family in families_of(swatch.lab)],
        "shade": shade_of(swatch.lab),
        "spread": _short(swatch.texture),
    }


def _lab(lab: Lab) -> dict[str, float]:
    return {"l": _short(lab.l), "a": _short(lab.a), "b": _short(lab.b)}


def _ladder(ladder: Ladder) -> dict[str, Any]:
    return {
        "darkest_first": list(ladder.order),
        "present": list(ladder.present),
        "missing": list(ladder.missing),
        "gaps": [_short(gap) for gap in ladder.gaps],
        "distinct_greys": ladder.distinct_greys,
    }


def _pair(pair: Pair, names: Sequence[str]) -> dict[str, Any]:
    fades = pair.fades_at_m
    return {
        "first": names[pair.first],
        "second": names[pair.second],
        "positions": [pair.first, pair.second],
        "delta_l": _short(pair.delta_l),
        "delta_e_2000": _short(pair.delta_e),
        "grade": pair.grade.value,
        "left": _short(pair.left),
        "left_in_hand": _short(pair.left_in_hand),
        "left_at_arm": _short(pair.left_at_arm),
        "left_across_room": _short(pair.left_across_room),
        "hidden": _short(pair.hidden),
        "fades_at_m": None if fades is None else _short(fades),
    }


def _quantity(line: Quantity, names: Sequence[str]) -> dict[str, Any]:
    return {
        "letter": line.letter,
        "yarn": names[line.yarn],
        "grams_needed": _number(line.grams_needed),
        "metres_needed": _number(line.metres_needed),
        "grams_held": _number(line.grams_held),
        "metres_held": _number(line.metres_held),
        "balls_needed": line.balls_needed,
        "balls_held": _number(line.balls_held),
        "balls_short": line.balls_short,
    }


def _swap(swap: Swap | None, names: Sequence[str], count: int) -> dict[str, Any] | None:
    if swap is None:
        return None
    return {
        "out": names[swap.out],
        "in": names[count + swap.spare],
        "left_before": _short(swap.left_before),
        "left_after": _short(swap.left_after),
    }


def _finding(finding: Finding, names: Sequence[str], *, imperial: bool) -> dict[str, Any]:
    words = describe(finding, names, imperial=imperial)
    return {
        "code": finding.code,
        "severity": finding.severity.value,
        "yarns": [names[position] for position in finding.yarns],
        "numbers": {
            key: number if isinstance(number, str) else _short(number)
            for key, number in finding.numbers.items()
        },
        "what": words.what,
        "why": words.why,
        "try": words.try_this,
        "taste": words.taste,
    }


def _number(amount: Decimal | None) -> float | None:
    return None if amount is None else float(amount)


def _short(value: float) -> float:
    # Adding 0 turns a rounded -0.0 into 0.0.
    return round(value, DIGITS) + 0
