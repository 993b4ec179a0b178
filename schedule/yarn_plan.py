"""What the pattern takes of each letter, clue by clue, as far as a reader may know.

Before every clue may be read, the whole of a letter is what the knit-along asks for in public
less the reserve that its organiser names; nothing of a hidden clue is in it.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from decimal import Decimal
from functools import cached_property
from typing import Final

from django.db.models import F

from kal.models import KnitAlong, LetterNeed, Participant
from schedule.counting import CountedClue, counted_clues
from schedule.models import Clue, LetterUse, YarnReserve
from schedule.models.clue import ClueQuerySet
from schedule.pattern.gauge import Gauge
from schedule.pattern.put_ups import PutUp
from schedule.pattern.stitches import Part
from schedule.pattern.yarn import (
    Basis,
    Estimate,
    Source,
    from_stitch_size,
    from_test_knits,
    in_yarn,
    together,
    yarn_so_far,
    yarn_stitches,
)
from schedule.visibility import readable_clues

USUAL_RESERVE: Final = 10  # per cent; common practice, as put_ups.RESERVE


@dataclass(frozen=True)
class ClueYarn:
    """One clue: grams of each letter, and how each letter's yarn goes into its rows."""

    counted: CountedClue
    grams: Mapping[str, Estimate]
    so_far: Mapping[str, tuple[int, ...]] = field(default_factory=dict)

    @property
    def number(self) -> int:
        return self.counted.number

    def share_done(self, letter: str, row: int) -> float:
        """Return the share of the letter's grams in this clue that `row` rows take, 0 to 1.

        Where its stitches are not counted, that of all stitches; where none are, all of it.
        """
        counted = self.counted
        if not counted.is_counted:
            return 1.0
        done = self.so_far.get(letter)
        if done is None or not done[-1]:
            return float(counted.share_after(min(row, counted.knitted_rows)))
        return done[min(row + counted.set_up_rows, len(done) - 1)] / done[-1]

    def grams_of_part(self, part: Part) -> dict[str, float]:
        """Return the clue's grams that one of its parts takes, shared out by stitches."""
        return {
            letter: self.grams[letter].grams * stitches / self.so_far[letter][-1]
            for letter, stitches in yarn_stitches([part]).items()
            if letter in self.grams and self.so_far[letter][-1]
        }

    def grams_of_parts(self) -> dict[str, float]:
        """Return the grams of each letter that all counted parts take together."""
        total = defaultdict[str, float](float)
        for part in self.counted.parts:
            for letter, grams in self.grams_of_part(part).items():
                total[letter] += grams
        return dict(total)


@dataclass(frozen=True)
class YarnPlan:
    """Clues in order, and the whole of each letter in grams.

    `is_whole` says that the clues are all there are and each says what it takes.
    """

    clues: tuple[ClueYarn, ...]
    totals: Mapping[str, Estimate]
    put_ups: Mapping[str, PutUp]
    reserve: int
    is_whole: bool

    @cached_property
    def _places(self) -> dict[int, tuple[ClueYarn, dict[str, float]]]:
        """Each clue by its primary key, with the grams of each letter before it."""
        done = dict.fromkeys(self.totals, 0.0)
        found = {}
        for clue in self.clues:
            found[clue.counted.clue.pk] = (clue, done)
            done = {letter: grams + grams_in(clue, letter) for letter, grams in done.items()}
        return found

    def in_yarns(self, bands: Mapping[str, PutUp]) -> "YarnPlan":
        """Return the plan in somebody's own yarns: the same metres, by the ball bands known."""

        def own(letter: str, estimate: Estimate) -> Estimate:
            band = bands.get(letter)
            return in_yarn(estimate, self.put_ups[letter], band) if band else estimate

        return replace(
            self,
            clues=tuple(
                replace(
                    clue, grams={letter: own(letter, each) for letter, each in clue.grams.items()}
                )
                for clue in self.clues
            ),
            totals={letter: own(letter, each) for letter, each in self.totals.items()},
        )

    def knows(self, clue: int | None) -> bool:
        """Whether the plan has the clue with this primary key; casting on comes before all."""
        return clue is None or clue in self._places

    def planned(self, letter: str, clue: int | None, row: int | None, share: float) -> float:
        """Return the letter's grams up to a row of a clue, or else a share; 0 before casting on.

        Never more than the whole, whatever rounding does.
        """
        if clue is None:
            return 0.0
        yarn, before = self._places[clue]
        part = share if row is None else yarn.share_done(letter, row)
        return min(before[letter] + part * grams_in(yarn, letter), self.totals[letter].grams)


def grams_in(clue: ClueYarn, letter: str) -> float:
    estimate = clue.grams.get(letter)
    return estimate.grams if estimate else 0.0


def plan_for(participant: Participant, now: datetime) -> YarnPlan:
    """Return the plan as this participant may know of it at `now`."""
    return make_plan(participant.knit_along, readable_clues(participant, now))


def crowd_plan(knit_along: KnitAlong, now: datetime) -> YarnPlan:
    """Return the plan as every participant may know of it at `now`."""
    return make_plan(knit_along, Clue.objects.filter(knit_along=knit_along).out(now))


def whole_plan(knit_along: KnitAlong) -> YarnPlan:
    """Return the plan with every clue in it, for its organiser."""
    return make_plan(knit_along, Clue.objects.filter(knit_along=knit_along))


def make_plan(knit_along: KnitAlong, clues: ClueQuerySet) -> YarnPlan:
    """Return the plan out of these clues and the public needs: five queries."""
    needs = {need.letter: need for need in knit_along.needs.all()}
    needs = {letter: needs[letter] for letter in knit_along.letters if letter in needs}
    put_ups = {letter: PutUp(need.grams, need.metres) for letter, need in needs.items()}
    found = tuple(_clue_yarns(knit_along, clues, put_ups))
    reserve = reserve_of(knit_along)
    is_whole = len(found) == knit_along.clues.count() and all(clue.grams for clue in found)
    totals = {
        letter: _total(letter, need, found, reserve, is_whole=is_whole)
        for letter, need in needs.items()
    }
    return YarnPlan(found, totals, put_ups, reserve, is_whole)


def reserve_of(knit_along: KnitAlong) -> int:
    """Return how many per cent of reserve the public needs hold."""
    row = YarnReserve.objects.filter(knit_along=knit_along).first()
    return row.percent if row else USUAL_RESERVE


def gauge_of(knit_along: KnitAlong) -> Gauge:
    return Gauge(knit_along.gauge_stitches, knit_along.gauge_rows)


def _clue_yarns(
    knit_along: KnitAlong, clues: ClueQuerySet, put_ups: Mapping[str, PutUp]
) -> Iterable[ClueYarn]:
    uses: dict[int, dict[str, Decimal]] = defaultdict(dict)
    rows = LetterUse.objects.filter(
        revision__clue__in=clues, revision__key=F("revision__clue__newest_key")
    )
    for clue, letter, used in rows.values_list("revision__clue", "letter", "grams"):
        if letter in put_ups and used:
            uses[clue][letter] = used
    for counted in counted_clues(clues):
        so_far = yarn_so_far(counted.parts)
        weighed = uses.get(counted.clue.pk)
        grams = (
            {letter: from_test_knits([each]) for letter, each in weighed.items()}
            if weighed
            else _reckoned(knit_along, so_far, put_ups)
        )
        yield ClueYarn(counted, grams, so_far)


def _reckoned(
    knit_along: KnitAlong, so_far: Mapping[str, tuple[int, ...]], put_ups: Mapping[str, PutUp]
) -> dict[str, Estimate]:
    gauge = gauge_of(knit_along)
    return {
        letter: from_stitch_size(done[-1], gauge, put_ups[letter].metres_per_gram)
        for letter, done in so_far.items()
        if letter in put_ups
    }


def _total(
    letter: str, need: LetterNeed, clues: Iterable[ClueYarn], reserve: int, *, is_whole: bool
) -> Estimate:
    known = [clue.grams[letter] for clue in clues if letter in clue.grams]
    asked = replace(
        from_test_knits([need.grams / (1 + Decimal(reserve) / 100)]), basis=Basis(Source.ASKED)
    )
    if not known:
        return replace(asked, grams=0.0) if is_whole else asked
    told = together(known)
    return told if is_whole or told.grams > asked.grams else asked
