"""A shortlist: the best sets of yarns out of many candidates, for an aim, each with its reasons.

What makes one set better than another is our choice, and docs/shortlist.md gives the grounds.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Final

import numpy as np

from palettes.colour.contrast import STRONG_FROM, grade_of
from palettes.colour.errors import BadShortlist, TooFewYarns, TooManyYarns
from palettes.colour.families import FAMILIES, Family, name_families, name_two_families
from palettes.colour.ladder import LIGHTNESS_WORDS, lightness_word
from palettes.colour.pair_matrix import left_of, square
from palettes.colour.shortlist_search import Found, Points, Whole, best_sets, count_sets
from palettes.colour.spaces import Floats
from palettes.colour.stripes import pair_indices
from palettes.colour.swatch import Fabric, Swatch

MAX_CANDIDATES = 40
MIN_CHOSEN = 2
MAX_CHOSEN = 8
ANSWERS = 10

# The shares of a set's score. An aim that was asked for leads; then the pair that reads worst,
# because one lost pair spoils a clue; then light, medium and dark; then the other pairs.
AIM_SHARE = 0.4
WORST_SHARE = 0.3
LADDER_SHARE = 0.2
PAIRS_SHARE = 0.1

# What twice as much contrast as strong earns over strong itself: enough to break ties by.
PLENTY_SHARE = 0.1

# C*ab, rounded from the medians of the ISCC-NBS centroids in fixtures/reference: 32 for those
# called moderate and 51 for those called strong. Softness fades from the first to the second;
# from the second on a colour is as bold as it needs to be.
SOFT_TO_CHROMA = 30.0
BOLD_FROM_CHROMA = 50.0
# How much of the aim an accent's own boldness is worth; the rest is how many accents there are.
ACCENT_BOLDNESS = 0.25

# An answer differs from each better one in at least this many yarns, while there are such sets.
DIFFERENT_YARNS = 2

_MILLION = 1_000_000
# How many of the best sets are kept to pick different ones from; more are fetched if too few.
_KEPT = 1000


class Aim(StrEnum):
    """What a person wants of the set, besides yarns that read."""

    CONTRAST = "contrast"
    ONE_FAMILY = "one-family"
    ACCENTED_NEUTRALS = "neutrals-with-accents"
    SOFT = "soft"
    BOLD = "bold"


@dataclass(frozen=True, slots=True)
class Reason:
    """One reason for an answer. Its words are in `shortlist_wording.py`, under its code.

    `yarns` and `instead_of` are positions among the candidates.
    """

    code: str
    numbers: Mapping[str, float | str] = field(default_factory=dict)
    yarns: tuple[int, ...] = ()
    instead_of: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Answer:
    """One set of yarns; `yarns` are positions among the candidates, ascending."""

    yarns: tuple[int, ...]
    score: float
    """0..1, for comparing answers to one question only."""
    reasons: tuple[Reason, ...]


def shortlist(
    candidates: Sequence[Swatch],
    *,
    choose: int = 5,
    aim: Aim = Aim.CONTRAST,
    locked: Sequence[int] = (),
    fabric: Fabric | None = None,
) -> tuple[Answer, ...]:
    """Return up to `ANSWERS` different sets of `choose` yarns, best first.

    Every combination that holds all `locked` candidates (positions) is considered. The first
    answer is the best of all; each next one is the best that differs from every answer before it
    in two yarns, and when there are no more, in one. Equal sets keep the candidates' order.
    Raises TooFewYarns, TooManyYarns or BadShortlist.
    """
    _check(len(candidates), choose, locked)
    facts = _gather(candidates, fabric or Fabric(), aim)
    sets = _different_sets(_points(facts, choose, aim), choose, sorted(set(locked)))
    highest = 1.0 if aim is not Aim.CONTRAST else 1.0 - AIM_SHARE
    first = sets[0][0]
    return tuple(
        Answer(
            yarns=yarns,
            score=max(score / _MILLION / highest, 0.0),
            reasons=tuple(_explain(facts, yarns, aim, first)),
        )
        for yarns, score in sets
    )


def _check(count: int, choose: int, locked: Sequence[int]) -> None:
    if not MIN_CHOSEN <= choose <= MAX_CHOSEN:
        raise BadShortlist(f"Cannot choose {choose}; choose {MIN_CHOSEN} to {MAX_CHOSEN} yarns.")
    if count > MAX_CANDIDATES:
        raise TooManyYarns(f"{count} candidates given; a shortlist takes up to {MAX_CANDIDATES}.")
    if count < choose:
        raise TooFewYarns(f"{count} candidates given; choosing {choose} needs at least {choose}.")
    if any(not 0 <= yarn < count for yarn in locked):
        raise BadShortlist(f"Locked yarns {list(locked)} are not all among the {count} given.")
    if len(set(locked)) > choose:
        raise BadShortlist(f"{len(set(locked))} yarns are locked; only {choose} are chosen.")


@dataclass(frozen=True, slots=True, eq=False)
class _Facts:
    """What is known of the candidates, one row or column for each."""

    at_arm: Floats
    left: Floats
    chroma: Floats
    families: tuple[tuple[Family, ...], ...]
    """Each yarn's own family, and for one aim the next one when it is near."""
    rungs: tuple[str, ...]


def _gather(candidates: Sequence[Swatch], fabric: Fabric, aim: Aim) -> _Facts:
    pairs = left_of(candidates, fabric)
    labs = np.array([swatch.lab for swatch in candidates])
    return _Facts(
        at_arm=square(pairs.at_arm, len(candidates)),
        left=square(pairs.throughout, len(candidates)),
        chroma=np.hypot(labs[:, 1], labs[:, 2]),
        families=_families(labs, aim),
        rungs=tuple(lightness_word(swatch.lab.l) for swatch in candidates),
    )


def _families(labs: Floats, aim: Aim) -> tuple[tuple[Family, ...], ...]:
    # Looking for borders takes longest of all here, and one aim alone asks for them.
    if aim is not Aim.ONE_FAMILY:
        return tuple((FAMILIES[index],) for index in name_families(labs).tolist())
    both = zip(*(part.tolist() for part in name_two_families(labs)), strict=True)
    return tuple(tuple(FAMILIES[index] for index in pair if index >= 0) for pair in both)


def _points(facts: _Facts, choose: int, aim: Aim) -> Points:
    reads = _how_well_read(facts.left)
    pairs = choose * (choose - 1) / 2
    pair = PAIRS_SHARE / pairs * reads
    if aim is Aim.ONE_FAMILY:
        pair = pair + AIM_SHARE / pairs * _share_family(facts)
    return Points(
        pair=_whole(pair),
        worst=_whole(WORST_SHARE * reads),
        yarn=_whole(AIM_SHARE * _yarn_merit(facts, choose, aim)),
        rung=np.array([1 << LIGHTNESS_WORDS.index(rung) for rung in facts.rungs], dtype=np.int32),
        rungs=_whole(LADDER_SHARE * _ladder_merit(choose)),
        in_group=_is_neutral(facts).astype(np.int32),
        grouped=_whole(AIM_SHARE * _count_merit(choose, aim)),
    )


def _how_well_read(left: Floats) -> Floats:
    """Return 0..1 for CIEDE2000 left: mostly up to strong, a little for what goes beyond."""
    enough = np.minimum(left / STRONG_FROM, 1)
    plenty = np.minimum(left / (2 * STRONG_FROM), 1)
    return np.asarray((1 - PLENTY_SHARE) * enough + PLENTY_SHARE * plenty)


def _whole(shares: Floats) -> Whole:
    return np.rint(shares * _MILLION).astype(np.int32)


def _share_family(facts: _Facts) -> Floats:
    sets = [set(families) for families in facts.families]
    return np.array([[float(bool(one & two)) for two in sets] for one in sets])


def _is_neutral(facts: _Facts) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    return np.array([families[0] is Family.NEUTRAL for families in facts.families])


def _yarn_merit(facts: _Facts, choose: int, aim: Aim) -> Floats:
    """Return each yarn's own part in the aim."""
    bold = np.minimum(facts.chroma / BOLD_FROM_CHROMA, 1)
    if aim is Aim.SOFT:
        over = (facts.chroma - SOFT_TO_CHROMA) / (BOLD_FROM_CHROMA - SOFT_TO_CHROMA)
        return np.asarray((1 - np.clip(over, 0, 1)) / choose)
    if aim is Aim.BOLD:
        return np.asarray(bold / choose)
    if aim is Aim.ACCENTED_NEUTRALS:
        accents = np.where(_is_neutral(facts), 0, bold)
        return np.asarray(accents * ACCENT_BOLDNESS / most_accents(choose))
    return np.zeros(len(facts.chroma))


def most_accents(choose: int) -> int:
    """Return how many accents leave the neutrals in the majority; at least one."""
    return max(1, (choose - 1) // 2)


def _count_merit(choose: int, aim: Aim) -> Floats:
    """Return what each number of neutrals, 0 to `choose`, brings to the aim."""
    merits = np.zeros(choose + 1)
    if aim is Aim.ACCENTED_NEUTRALS:
        accents = choose - np.arange(choose + 1)
        spare = np.maximum(accents - most_accents(choose), 0)
        off = spare + (accents == 0)
        merits = (1 - ACCENT_BOLDNESS) * np.maximum(1 - off / 2, 0)
        # Or accents too many would win back by being bold what they lose by being too many.
        merits -= ACCENT_BOLDNESS * spare / most_accents(choose)
    return merits


def _ladder_merit(choose: int) -> Floats:
    """Return what each mix of rungs brings, from none (0) to light, medium and dark (7)."""
    present = np.array([mix.bit_count() for mix in range(1 << len(LIGHTNESS_WORDS))])
    return np.asarray(np.minimum(present / min(choose, len(LIGHTNESS_WORDS)), 1))


def _different_sets(
    points: Points, choose: int, locked: Sequence[int]
) -> list[tuple[tuple[int, ...], int]]:
    total = count_sets(len(points.yarn), choose, len(locked))
    keep = _KEPT
    while True:
        found = best_sets(points, choose, locked, keep)
        picked = _pick(found, DIFFERENT_YARNS)
        if len(picked) == ANSWERS or len(found.scores) == total:
            break
        keep *= 8
    if len(picked) < ANSWERS:
        picked += [row for row in range(len(found.scores)) if row not in picked]
    rows = sorted(picked[:ANSWERS])
    return [(tuple(found.members[row].tolist()), int(found.scores[row])) for row in rows]


def _pick(found: Found, apart: int) -> list[int]:
    """Return the rows that differ from every row picked before them in `apart` yarns."""
    choose = found.members.shape[1]
    bits = (np.uint64(1) << found.members.astype(np.uint64)).sum(axis=1, dtype=np.uint64)
    open_rows = np.ones(len(bits), dtype=np.bool_)
    picked: list[int] = []
    while len(picked) < ANSWERS and open_rows.any():
        row = int(open_rows.argmax())
        picked.append(row)
        open_rows &= np.bitwise_count(bits & bits[row]) <= choose - apart
        open_rows[row] = False
    return picked


def _explain(
    facts: _Facts, yarns: tuple[int, ...], aim: Aim, first: tuple[int, ...]
) -> Iterator[Reason]:
    yield _closest_reason(facts, yarns)
    yield _ladder_reason(facts, yarns)
    if aim is not Aim.CONTRAST:
        yield _AIM_REASONS[aim](facts, yarns)
    if yarns != first:
        added = tuple(yarn for yarn in yarns if yarn not in first)
        dropped = tuple(yarn for yarn in first if yarn not in yarns)
        yield Reason("instead", {"count": len(added)}, added, dropped)


def _closest_reason(facts: _Facts, yarns: tuple[int, ...]) -> Reason:
    firsts, seconds = pair_indices(len(yarns))
    ones, twos = np.array(yarns)[firsts], np.array(yarns)[seconds]
    place = int(facts.left[ones, twos].argmin())
    one, two = int(ones[place]), int(twos[place])
    left = float(facts.left[one, two])
    grade = grade_of(float(facts.at_arm[one, two]), left)
    return Reason(f"closest_{grade}", {"left": left}, (one, two))


def _ladder_reason(facts: _Facts, yarns: tuple[int, ...]) -> Reason:
    present = {facts.rungs[yarn] for yarn in yarns}
    missing = [word for word in LIGHTNESS_WORDS if word not in present]
    if not missing:
        return Reason("ladder_full")
    return Reason("ladder_lacks", {"missing": " or ".join(missing)})


def _family_reason(facts: _Facts, yarns: tuple[int, ...]) -> Reason:
    counts = {family: sum(family in facts.families[yarn] for yarn in yarns) for family in FAMILIES}
    family = max(FAMILIES, key=lambda each: counts[each])
    others = tuple(yarn for yarn in yarns if family not in facts.families[yarn])
    numbers = {"family": family.value, "count": counts[family], "of": len(yarns)}
    if 2 * counts[family] <= len(yarns):
        return Reason("family_none", numbers)
    return Reason("family_mixed" if others else "family_one", numbers, others)


def _accents_reason(facts: _Facts, yarns: tuple[int, ...]) -> Reason:
    neutral = _is_neutral(facts)
    accents = tuple(yarn for yarn in yarns if not neutral[yarn])
    numbers = {"neutrals": len(yarns) - len(accents), "accents": len(accents)}
    if not accents:
        return Reason("accents_none", numbers)
    fits = len(accents) <= most_accents(len(yarns))
    return Reason("accents_few" if fits else "accents_many", numbers, accents)


def _soft_reason(facts: _Facts, yarns: tuple[int, ...]) -> Reason:
    hard = tuple(yarn for yarn in yarns if facts.chroma[yarn] > SOFT_TO_CHROMA)
    numbers = {"soft": len(yarns) - len(hard), "of": len(yarns)}
    return Reason("soft_some" if hard else "soft_all", numbers, hard)


def _bold_reason(facts: _Facts, yarns: tuple[int, ...]) -> Reason:
    bold = tuple(yarn for yarn in yarns if facts.chroma[yarn] >= BOLD_FROM_CHROMA)
    numbers = {"bold": len(bold), "of": len(yarns)}
    return Reason("bold_some" if bold else "bold_none", numbers, bold)


_AIM_REASONS: Final = {
    Aim.ONE_FAMILY: _family_reason,
    Aim.ACCENTED_NEUTRALS: _accents_reason,
    Aim.SOFT: _soft_reason,
    Aim.BOLD: _bold_reason,
}
