"""One palette's audit as a page shows it: words, and the measures of what is drawn."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from django.conf import settings
from django.utils.module_loading import import_string
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from kal.models import KnitAlong
from kal.units import amounts_text, figures, plain
from palettes.cards import Card, draw_card
from palettes.colour.amounts import distance_words
from palettes.colour.audit import MIN_YARNS, Audit, audit
from palettes.colour.contrast import (
    ARMS_LENGTH_M,
    CLOSE_FROM,
    STRONG_FROM,
    WORKABLE_FROM,
    Grade,
    Pair,
)
from palettes.colour.finding import Finding, Severity
from palettes.colour.ladder import DARK_BELOW, LIGHT_FROM
from palettes.colour.quantities import Quantity
from palettes.colour.sight import Sight
from palettes.colour.swatch import Fabric, Need
from palettes.colour.wording import (
    GRADE_NAMES,
    LIGHTNESS,
    Words,
    describe,
    summarise,
)
from palettes.colour.wording import GRADES as GRADE_WORDS
from palettes.forms import weight_label
from palettes.lettering import Lettering, in_order
from palettes.models.yarn_facts import YarnFacts
from palettes.translator import READERS_LANGUAGE, listed

# Units of the ladder's drawing: L* 100 at the top, 0 at the foot, labels a line apart.
LADDER_TOP, LADDER_FOOT = 12.0, 292.0
LABEL_STEP: Final = 21.0
LABEL_LETTERS: Final = 24
BAR_HEIGHT: Final = 11.0
BASELINE: Final = 4.5
ZONE_LINE: Final = 16.0

# A grade is told by its word; the mark lets the eye run down a column, and is no colour.
MARKS: Final = {
    Grade.STRONG: "\N{BLACK CIRCLE}" * 3,
    Grade.WORKABLE: "\N{BLACK CIRCLE}" * 2 + "\N{WHITE CIRCLE}",
    Grade.CLOSE: "\N{BLACK CIRCLE}" + "\N{WHITE CIRCLE}" * 2,
    Grade.LOST: "\N{WHITE CIRCLE}" * 3,
}

SEVERITY_WORDS: Final = {
    Severity.PROBLEM: gettext_lazy("Mend this"),
    Severity.CAUTION: gettext_lazy("Look again"),
    Severity.NOTE: gettext_lazy("Good to know"),
    Severity.GOOD: gettext_lazy("Good"),
}


@dataclass(frozen=True, slots=True)
class Rung:
    """One yarn on the drawn ladder."""

    yarn: YarnFacts
    letter: str
    label: str
    y: float
    label_y: float

    @property
    def bar_y(self) -> float:
        """The top of the bar whose middle is at `y`."""
        return self.y - BAR_HEIGHT / 2

    @property
    def text_y(self) -> float:
        """The baseline of a line of text that is centred on `label_y`."""
        return self.label_y + BASELINE


@dataclass(frozen=True, slots=True)
class PairRow:
    """Two yarns side by side, and how the pair reads."""

    first: YarnFacts
    second: YarnFacts
    first_letter: str
    second_letter: str
    pair: Pair
    mark: str
    fades: str


@dataclass(frozen=True, slots=True)
class GradeWords:
    """A grade for the legend."""

    name: str
    mark: str
    words: str


def grade_legend() -> tuple[GradeWords, ...]:
    """Return the grades in the reader's language with what they take, best first."""
    return tuple(
        GradeWords(_(GRADE_NAMES[grade]), MARKS[grade], f"{_(GRADE_WORDS[grade])} ({bound})")
        for grade, bound in _grade_bounds().items()
    )


def _grade_bounds() -> dict[Grade, str]:
    """Return what contrast makes each grade, best first."""
    least = _("contrast from %(least)d")
    return {
        Grade.STRONG: least % {"least": STRONG_FROM},
        Grade.WORKABLE: least % {"least": WORKABLE_FROM},
        Grade.CLOSE: _("less, but from %(least)d at arm's length") % {"least": CLOSE_FROM},
        Grade.LOST: _("under %(least)d even at arm's length") % {"least": CLOSE_FROM},
    }


@dataclass(frozen=True, slots=True)
class QuantityRow:
    """What one letter takes against what is in the bag, in the reader's own units."""

    letter: str
    yarn: YarnFacts
    needed: str
    held: str
    balls_needed: str
    balls_held: str
    verdict: str
    is_short: bool
    to_fill_in: str
    """The field of the yarn's form that would tell, by its label; '' where enough is known."""


@dataclass(frozen=True, slots=True)
class FindingRow:
    """One finding in words."""

    severity: Severity
    label: str
    words: Words


@dataclass(frozen=True, slots=True)
class PaletteAudit:
    """Everything the audit part of a page needs."""

    yarns: Sequence[YarnFacts]
    has_planned_letters: bool
    """The letters are by the letter plan or by choice, not by the order of the yarns."""
    summary: str
    verdict: str
    greys: int
    present: str
    missing: str
    card: Card
    grey_card: Card
    card_label: str
    grey_label: str
    rungs: Sequence[Rung]
    light_y: float
    medium_text_y: float
    dark_y: float
    dark_text_y: float
    pairs: Sequence[PairRow]
    quantities: Sequence[QuantityRow]
    findings: Sequence[FindingRow]
    grades: Sequence[GradeWords]


def audit_yarns(
    chosen: Sequence[YarnFacts],
    others: Sequence[YarnFacts],
    knit_along: KnitAlong,
    *,
    imperial: bool,
    lettering: Lettering | None = None,
) -> PaletteAudit | None:
    """Return the audit of chosen yarns; None for fewer than two.

    `others` are spares and candidates, among which a helpful swap is looked for. Without a
    lettering the yarns stand in the order of their letters.
    """
    if len(chosen) < MIN_YARNS:
        return None
    lettering = lettering or in_order(knit_along)
    swatches = [yarn.swatch() for yarn in chosen]
    result = audit(
        swatches,
        fabric=fabric_of(knit_along),
        needs=needs_of(knit_along, lettering.letters, reserve=reserve_in_needs(knit_along)),
        spares=[yarn.swatch() for yarn in others],
    )
    names = [yarn.name for yarn in (*chosen, *others)]
    letters = lettering.letters
    return PaletteAudit(
        yarns=chosen,
        has_planned_letters=lettering.is_planned,
        summary=summarise(result, READERS_LANGUAGE),
        verdict=result.verdict.value,
        greys=result.greys,
        present=listed([_(LIGHTNESS[word]) for word in result.ladder.present]),
        missing=listed([_(LIGHTNESS[word]) for word in result.ladder.missing]),
        card=draw_card(swatches),
        grey_card=draw_card(swatches, sight=Sight.GREY),
        card_label=_("Wrap card: %(yarns)s.")
        % {"yarns": listed([f"{yarn.name}, {yarn.colour_words}" for yarn in chosen])},
        grey_label=_("The wrap card in grey: %(yarns)s.")
        % {"yarns": listed([f"{yarn.name}, {yarn.lightness_in_words}" for yarn in chosen])},
        rungs=_rungs(chosen, result, letters),
        light_y=_height(LIGHT_FROM),
        medium_text_y=_height(LIGHT_FROM) + ZONE_LINE,
        dark_y=_height(DARK_BELOW),
        dark_text_y=_height(DARK_BELOW) + ZONE_LINE,
        pairs=[_pair_row(pair, chosen, letters, imperial=imperial) for pair in result.pairs],
        quantities=[_quantity_row(line, chosen, imperial=imperial) for line in result.quantities],
        findings=[_finding_row(finding, names, imperial=imperial) for finding in result.findings],
        grades=grade_legend(),
    )


def reserve_in_needs(knit_along: KnitAlong) -> float:
    """Return the share of what the pattern itself takes that is asked for on top.

    It is the schedule's, which nothing here knows: settings name the function that tells it.
    """
    percent: int = import_string(settings.RESERVE_IN_NEEDS)(knit_along)
    return percent / 100


def fabric_of(knit_along: KnitAlong) -> Fabric:
    """Return the knit-along's fabric as the colour core reads it."""
    return Fabric(float(knit_along.gauge_stitches), float(knit_along.gauge_rows))


def needs_of(knit_along: KnitAlong, letters: str = "", reserve: float = 0.0) -> list[Need]:
    """Return what is asked for of each letter, in the order of `letters`, as the core reads it."""
    needs = [
        Need(need.letter, float(need.grams), float(need.metres), reserve)
        for need in knit_along.needs.all()
    ]
    return sorted(needs, key=lambda need: letters.find(need.letter))


def _height(lightness: float) -> float:
    return LADDER_FOOT - lightness / 100 * (LADDER_FOOT - LADDER_TOP)


def _rungs(chosen: Sequence[YarnFacts], result: Audit, letters: str) -> list[Rung]:
    """Return the rungs lightest first, their labels pushed apart where yarns are close."""
    order = list(reversed(result.ladder.order))
    heights = [_height(chosen[i].lab_l) for i in order]
    labels = spread_out(heights, step=LABEL_STEP, low=LADDER_TOP, high=LADDER_FOOT)
    return [
        Rung(chosen[i], letter_at(letters, i), cut(chosen[i].name), round(y, 1), round(label_y, 1))
        for i, y, label_y in zip(order, heights, labels, strict=True)
    ]


def spread_out(places: Sequence[float], *, step: float, low: float, high: float) -> list[float]:
    """Return rising places moved as little as it takes to lie `step` apart within the bounds."""
    spread: list[float] = []
    for place in places:
        spread.append(max(place, low, spread[-1] + step) if spread else max(place, low))
    for i in reversed(range(len(spread))):
        ceiling = high if i == len(spread) - 1 else spread[i + 1] - step
        spread[i] = min(spread[i], ceiling)
    return spread


def letter_at(letters: str, position: int) -> str:
    """Return the colour letter at a position, or its number past the knit-along's letters."""
    return letters[position] if position < len(letters) else str(position + 1)


def cut(name: str, length: int = LABEL_LETTERS) -> str:
    """Return a name short enough for a drawing."""
    return name if len(name) <= length else f"{name[: length - 1].rstrip(' ,')}…"


def _pair_row(pair: Pair, chosen: Sequence[YarnFacts], letters: str, *, imperial: bool) -> PairRow:
    return PairRow(
        first=chosen[pair.first],
        second=chosen[pair.second],
        first_letter=letter_at(letters, pair.first),
        second_letter=letter_at(letters, pair.second),
        pair=pair,
        mark=MARKS[pair.grade],
        fades=fading(pair, imperial=imperial),
    )


def fading(pair: Pair, *, imperial: bool) -> str:
    """Return where a pair fades, to follow a subject."""
    metres = pair.fades_at_m
    if metres is None:
        return _("never fades")
    if metres == 0:
        return _("does not show")
    if metres < 1:
        return _("fades in the hand") if metres < ARMS_LENGTH_M else _("fades at arm's length")
    distance = distance_words(metres, READERS_LANGUAGE, imperial=imperial)
    return _("fades at %(distance)s") % {"distance": distance}


def _quantity_row(line: Quantity, chosen: Sequence[YarnFacts], *, imperial: bool) -> QuantityRow:
    def amounts(grams: Decimal | None, metres: Decimal | None) -> str:
        return amounts_text(grams, metres, imperial=imperial) or _("not known")

    return QuantityRow(
        letter=line.letter,
        yarn=chosen[line.yarn],
        needed=amounts(line.grams_needed, line.metres_needed),
        held=amounts(line.grams_held, line.metres_held),
        balls_needed="?" if line.balls_needed is None else str(line.balls_needed),
        balls_held="?" if line.balls_held is None else figures(plain(line.balls_held)),
        verdict=_quantity_words(line),
        is_short=bool(line.balls_short),
        to_fill_in=weight_label(imperial=imperial) if line.balls_short is None else "",
    )


def _quantity_words(line: Quantity) -> str:
    if line.balls_short is None:
        return _("not known")
    if line.balls_short:
        return _("buy %(balls)d") % {"balls": line.balls_short}
    return _("only just enough") if line.is_tight else _("enough")


def _finding_row(finding: Finding, names: Sequence[str], *, imperial: bool) -> FindingRow:
    words = describe(finding, names, READERS_LANGUAGE, imperial=imperial)
    return FindingRow(finding.severity, str(SEVERITY_WORDS[finding.severity]), words)
