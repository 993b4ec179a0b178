"""The shortlist as its page shows it: each set drawn as a wrap card, with its reasons in words."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from kal.models import KnitAlong
from palettes.audits import fabric_of, letter_at
from palettes.cards import Card, draw_card
from palettes.choosing import in_their_letters
from palettes.colour.shortlist import Aim, Answer, shortlist
from palettes.colour.shortlist_wording import say
from palettes.colour.sight import Sight
from palettes.models import Yarn
from palettes.translator import READERS_LANGUAGE


@dataclass(frozen=True, slots=True)
class LetteredYarn:
    """A yarn with the letter it would have, '' where that cannot be told."""

    yarn: Yarn
    letter: str


@dataclass(frozen=True, slots=True)
class SetRow:
    """One set of the shortlist, its yarns in the order of the letters they would have."""

    number: int
    yarns: Sequence[LetteredYarn]
    reasons: Sequence[str]
    card: Card
    grey_card: Card
    card_label: str
    grey_label: str
    is_chosen_now: bool


def find_sets(
    yarns: Sequence[Yarn],
    knit_along: KnitAlong,
    *,
    choose: int,
    aim: Aim,
    locked: Sequence[int],
    imperial: bool,
    are_lettered: bool = True,
) -> list[SetRow]:
    """Return up to ten sets out of a participant's yarns, best first; `locked` are their keys.

    Not lettered where a plan gives the letters once a set is used. Empty when there are fewer
    yarns than `choose`.
    """
    if len(yarns) < choose:
        return []
    letters = knit_along.letters if are_lettered else ""
    answers = shortlist(
        [yarn.swatch() for yarn in yarns],
        choose=choose,
        aim=aim,
        locked=[place for place, yarn in enumerate(yarns) if yarn.pk in locked],
        fabric=fabric_of(knit_along),
    )
    return [
        _row(number, answer, yarns, letters, imperial=imperial)
        for number, answer in enumerate(answers, 1)
    ]


def _row(
    number: int, answer: Answer, yarns: Sequence[Yarn], letters: str, *, imperial: bool
) -> SetRow:
    chosen = [yarn.pk for yarn in yarns if yarn.is_chosen]
    by_key = {yarns[place].pk: yarns[place] for place in answer.yarns}
    members = [by_key[pk] for pk in in_their_letters(chosen, list(by_key))]
    swatches = [yarn.swatch() for yarn in members]
    names = [yarn.name for yarn in yarns]
    return SetRow(
        number=number,
        yarns=[
            LetteredYarn(yarn, letter_at(letters, place) if letters else "")
            for place, yarn in enumerate(members)
        ],
        reasons=[
            say(reason, names, READERS_LANGUAGE, imperial=imperial) for reason in answer.reasons
        ],
        card=draw_card(swatches),
        grey_card=draw_card(swatches, sight=Sight.GREY),
        card_label=_("Wrap card: %(yarns)s.")
        % {"yarns": "; ".join(f"{yarn.name}, {yarn.colour_words}" for yarn in members)},
        grey_label=_("The wrap card in grey: %(yarns)s.")
        % {"yarns": "; ".join(f"{yarn.name}, {yarn.lightness_in_words}" for yarn in members)},
        is_chosen_now=set(chosen) == by_key.keys(),
    )
