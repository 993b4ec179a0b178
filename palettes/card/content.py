"""What a palette card says."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from palettes.colour.contrast import Grade
from palettes.colour.phrases import UNTRANSLATED, Translator, fill, ngettext_lazy
from palettes.colour.phrases import gettext_noop as _
from palettes.colour.spaces import Lab, check_lab
from palettes.errors import PaletteError

FEWEST, MOST = 2, 8
BALLS_TO_HAVE: Final = ngettext_lazy("{count} ball to have", "{count} balls to have", "count")


class BadCard(PaletteError):
    """The palette cannot be drawn as a card."""


@dataclass(frozen=True, slots=True)
class CardYarn:
    """One yarn as the card shows it; words are printed as given.

    `lab` is D65, 2 degree observer; `spread` the mean CIEDE2000 of the yarn's colours from it.
    BadLab when it is not a colour.
    """

    letter: str
    name: str
    lab: Lab
    colour_words: str
    """Lightness and family, like 'dark blue, near purple'."""
    spread: float = 0.0
    dye_style: str = ""
    fibre: str = ""
    put_up: str = ""
    """What one ball holds, in the reader's own units, like '100 g, 400 m'."""
    balls_to_have: int | None = None

    def __post_init__(self) -> None:
        check_lab(self.lab)

    def facts(self, to: Translator = UNTRANSLATED) -> tuple[str, ...]:
        """Return what is known of the ball, in the order it is read."""
        put_up = self.put_up and fill(_("{amounts} a ball"), {"amounts": self.put_up}, to)
        known = (self.dye_style, self.fibre, _unbroken(put_up), _unbroken(self.to_have(to)))
        return tuple(fact for fact in known if fact)

    def to_have(self, to: Translator = UNTRANSLATED) -> str:
        """Return how many balls the pattern takes, or '' when that is not known."""
        if self.balls_to_have is None:
            return ""
        return fill(BALLS_TO_HAVE, {"count": self.balls_to_have}, to)


@dataclass(frozen=True, slots=True)
class CardPair:
    """How two yarns read side by side; `first` and `second` are positions in the palette."""

    first: int
    second: int
    grade: Grade


@dataclass(frozen=True, slots=True)
class Card:
    """All that a palette card says; BadCard when it could not be drawn."""

    knit_along: str
    person: str
    yarns: Sequence[CardYarn]
    pairs: Sequence[CardPair] = ()
    note: str = ""
    """A line for the corner, like 'Registered 3 March 2027'."""
    language: str = "en-GB"
    to: Translator = UNTRANSLATED
    """What puts the card's own words into the reader's language."""

    def __post_init__(self) -> None:
        count = len(self.yarns)
        if not FEWEST <= count <= MOST:
            raise BadCard(f"A card shows {FEWEST} to {MOST} yarns; this palette has {count}.")
        for pair in self.pairs:
            if pair.first == pair.second or not {pair.first, pair.second} <= set(range(count)):
                raise BadCard(
                    f"A pair names the yarns at {pair.first} and {pair.second}; "
                    f"it must be two different ones of 0 to {count - 1}."
                )

    @property
    def words(self) -> str:
        """Every word that a person may have typed."""
        yarns = [
            (yarn.letter, yarn.name, yarn.colour_words, *yarn.facts(self.to)) for yarn in self.yarns
        ]
        return " ".join([self.knit_along, self.person, self.note, *map(" ".join, yarns)])


def _unbroken(text: str) -> str:
    # A number stays on one line with what it counts.
    return text.replace(" ", "\N{NO-BREAK SPACE}")
