"""What a knitter can do about a letter that may run short: codes, their numbers, and the words."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Final

from palettes.colour.amounts import weight_words
from palettes.colour.phrases import UNTRANSLATED, Phrase, Translator, ngettext_lazy, sentence
from palettes.colour.phrases import gettext_noop as _
from schedule.pattern.forecast import Forecast, Ground, Level
from schedule.pattern.put_ups import PutUp, balls_to_buy

# Somebody else's leftovers will do for up to this share of a ball; our choice.
PART_BALL: Final = 0.25


class Act(StrEnum):
    """One thing to do, or the news that nothing is needed."""

    NOTHING = "nothing"
    CHECK_READING = "check-reading"
    WEIGH = "weigh"
    WEIGH_AGAIN = "weigh-again"
    BUY = "buy"
    SAME_LOT = "same-lot"
    ASK_AROUND = "ask-around"
    SWAP_LETTERS = "swap-letters"
    USE_SPARE = "use-spare"
    BLEND_LOTS = "blend-lots"


WORDS: Final[Mapping[Act, Phrase]] = {
    Act.NOTHING: _("There is enough of {letter}: about {over} will be left."),
    Act.CHECK_READING: _(
        "Look at the last weigh-in of {letter} again: it says {rate} times the "
        "plan, and one of its numbers may be a slip."
    ),
    Act.WEIGH: _(
        "Weigh {letter} at the end of this clue; the forecast then rests on your own knitting."
    ),
    Act.WEIGH_AGAIN: _(
        "Weigh {letter} again after the next clue; the forecast rests on your own knitting once "
        "about an eighth of this colour is knitted."
    ),
    Act.BUY: ngettext_lazy(
        "Get {balls} more ball of {letter} while it can be had: {missing} would make it safe.",
        "Get {balls} more balls of {letter} while it can be had: {missing} would make it safe.",
        "balls",
    ),
    Act.SAME_LOT: _("Ask for the same dye lot, and tell the seller the number on your ball band."),
    Act.ASK_AROUND: _(
        "Only {missing} more is needed; somebody with the same yarn may have that much left over."
    ),
    Act.SWAP_LETTERS: _(
        "Or let {letter} and {other} change places from the next clue on: you have "
        "enough of both for that. See first how the other meetings would read."
    ),
    Act.USE_SPARE: _(
        "Or take a spare in its place from the next clue on, so that the change looks meant."
    ),
    Act.BLEND_LOTS: _(
        "If the new ball looks different, work two rows from each in turn for a "
        "while; the border between them goes away."
    ),
}


@dataclass(frozen=True, slots=True)
class Advice:
    """One piece of advice; its sentences are in `WORDS`, under its code. Weights are in grams."""

    act: Act
    letter: str
    numbers: Mapping[str, float | str] = field(default_factory=dict)

    def words(self, to: Translator = UNTRANSLATED, *, imperial: bool = False) -> str:
        """Return the advice as sentences in the reader's language and units."""
        weights = {
            key: weight_words(float(self.numbers[key]), to, imperial=imperial)
            for key in self.numbers.keys() & {"over", "missing"}
        }
        return sentence(WORDS[self.act], {"letter": self.letter, **self.numbers, **weights}, to)


def advise(
    letter: str,
    forecasts: Mapping[str, Forecast],
    *,
    put_up: PutUp | None = None,
    has_spare: bool = False,
) -> tuple[Advice, ...]:
    """Return what to do about one letter, first things first; `forecasts` are the knitter's all.

    A reading that looks wrong is all there is to say until it is put right. A knitter's yarn that
    lasts gets one piece of advice, or two where it was never weighed. What only might not last, by
    other people's hands, is to be weighed and no more.
    """
    mine = forecasts[letter]
    if mine.is_strange:
        return (Advice(Act.CHECK_READING, letter, {"rate": f"{mine.rate:.1f}"}),)
    weigh = () if mine.ground is Ground.OWN else (_weigh(mine),)
    if mine.level is Level.ENOUGH:
        over = max(0.0, mine.left - mine.need)
        return (Advice(Act.NOTHING, letter, {"over": round(over)}), *weigh)
    if not mine.is_worry:
        return weigh
    return (*weigh, *_get_more(mine, put_up), *_do_without(mine, forecasts, has_spare))


def swap_partners(mine: Forecast, forecasts: Mapping[str, Forecast]) -> tuple[str, ...]:
    """Return the letters that could take this one's place and leave enough for both, best first.

    In grams, so for yarns of like put-up. Both must last at the upper end of their intervals.
    """
    others = [
        other
        for other in forecasts.values()
        if other.letter != mine.letter and other.left >= mine.high and mine.left >= other.high
    ]
    return tuple(other.letter for other in sorted(others, key=lambda other: mine.high - other.left))


def _weigh(mine: Forecast) -> Advice:
    """An eighth is `weigh_in.SHORTEST_STRETCH`."""
    return Advice(Act.WEIGH_AGAIN if mine.is_weighed else Act.WEIGH, mine.letter)


def _get_more(mine: Forecast, put_up: PutUp | None) -> tuple[Advice, ...]:
    missing: dict[str, float | str] = {"missing": max(1, round(mine.missing))}
    balls = balls_to_buy(mine.missing, put_up, 0) if put_up and mine.missing else 1
    buy = Advice(Act.BUY, mine.letter, {**missing, "balls": balls})
    advice = [buy, Advice(Act.SAME_LOT, mine.letter)]
    if put_up and mine.missing <= PART_BALL * float(put_up.grams):
        advice.append(Advice(Act.ASK_AROUND, mine.letter, missing))
    return (*advice, Advice(Act.BLEND_LOTS, mine.letter))


def _do_without(
    mine: Forecast, forecasts: Mapping[str, Forecast], has_spare: bool
) -> tuple[Advice, ...]:
    advice = [
        Advice(Act.SWAP_LETTERS, mine.letter, {"other": other})
        for other in swap_partners(mine, forecasts)[:1]
    ]
    if has_spare:
        advice.append(Advice(Act.USE_SPARE, mine.letter))
    return tuple(advice)
