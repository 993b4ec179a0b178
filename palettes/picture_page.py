"""The page of pictures: what is drawn of which yarns, and what can be seen of it, in words."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Final

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from kal.models import KnitAlong
from palettes.audits import MARKS, fabric_of, fading, letter_at
from palettes.cards import Card, draw_card
from palettes.colour.contrast import (
    CLOSE_FROM,
    JUST_NOTICEABLE,
    STRONG_FROM,
    WORKABLE_FROM,
    Pair,
    compare,
    compare_all,
)
from palettes.colour.sight import Sight, as_seen
from palettes.colour.swatch import Fabric, Swatch
from palettes.colour.textures import Texture, yarns_needed
from palettes.colour.wording import GRADES
from palettes.lettering import Lettering
from palettes.models import Yarn
from palettes.pictures import Shown, strand_of

type Text = str | Promise

SIGHT_WORDS: Final[Mapping[Sight, Text]] = {
    Sight.COLOUR: gettext_lazy("In colour"),
    Sight.GREY: gettext_lazy("In grey"),
    Sight.PROTAN: gettext_lazy("Protan: without red-sensing cones"),
    Sight.DEUTAN: gettext_lazy("Deutan: without green-sensing cones"),
    Sight.TRITAN: gettext_lazy("Tritan: without blue-sensing cones"),
}
TEXTURE_WORDS: Final[Mapping[Texture, tuple[Text, Text]]] = {
    Texture.RIDGES: (
        gettext_lazy("Garter ridges"),
        gettext_lazy("Two rows of each, the narrowest stripe; pairs are graded by it."),
    ),
    Texture.STRIPE: (gettext_lazy("Stripe"), gettext_lazy("Four rows of each in stockinette.")),
    Texture.SLIP_STITCH: (
        gettext_lazy("Slip stitch"),
        gettext_lazy("One colour a row; slipped stitches carry the row below upwards."),
    ),
    Texture.MOSAIC: (
        gettext_lazy("Mosaic"),
        gettext_lazy("Slipped stitches over garter ridges draw a figure."),
    ),
    Texture.RIB: (
        gettext_lazy("Two-colour rib"),
        gettext_lazy("Columns of two stitches, both colours in every row."),
    ),
    Texture.THREE_RIDGES: (
        gettext_lazy("Three-colour ridges"),
        gettext_lazy("A ridge of each in turn."),
    ),
    Texture.THREE_SLIP: (
        gettext_lazy("Three-colour slip stitch"),
        gettext_lazy("Each colour crosses the next one's rows."),
    ),
}
TWO: Final = tuple(texture for texture in TEXTURE_WORDS if yarns_needed(texture) == 2)
THREE: Final = tuple(texture for texture in TEXTURE_WORDS if yarns_needed(texture) == 3)

# What is left of a pair, CIEDE2000, by the bounds that also grade it (docs/colour.md).
SEEN: Final[Sequence[tuple[float, Text]]] = (
    (STRONG_FROM, gettext_lazy("stand well apart")),
    (WORKABLE_FROM, gettext_lazy("can be told apart")),
    (CLOSE_FROM, gettext_lazy("come close")),
    (JUST_NOTICEABLE, gettext_lazy("can hardly be told apart")),
    (0.0, gettext_lazy("run together")),
)


@dataclass(frozen=True, slots=True)
class Picture:
    """One picture with its words."""

    shown: Shown
    keys: Sequence[int]
    title: Text
    description: Text
    alt: str


@dataclass(frozen=True, slots=True)
class PairPicture:
    """How two yarns read side by side: the picture, the grade and what is left, in words."""

    first: Yarn
    second: Yarn
    pair: Pair
    mark: str
    means: str
    fades: str
    seen: str
    picture: Picture


@dataclass(frozen=True, slots=True)
class PairLink:
    """Another pair to look at."""

    first: Yarn
    second: Yarn
    letters: str
    pair: Pair
    mark: str


@dataclass(frozen=True, slots=True)
class Pictures:
    """Everything the page shows of the yarns that were picked."""

    sight_words: Text
    card: Card
    card_label: str
    pairs: Sequence[PairPicture]
    textures: Sequence[Picture]


def show_pictures(
    picked: Sequence[Yarn],
    chosen: Sequence[Yarn],
    knit_along: KnitAlong,
    sight: Sight,
    *,
    imperial: bool,
) -> Pictures:
    """Return the pictures of two or three picked yarns, and a card of them and the chosen."""
    fabric = fabric_of(knit_along)
    wound = [*chosen, *(yarn for yarn in picked if not yarn.is_chosen)]
    words = [f"{yarn.name}, {yarn.colour_words}" for yarn in wound]
    label = _("Wrap card: %(yarns)s.") % {"yarns": "; ".join(words)}
    pairs = [
        _pair_picture(pair, fabric, sight, imperial=imperial) for pair in combinations(picked, 2)
    ]
    textures = [
        _picture(texture, picked[:2], pairs[0].seen, fabric, sight)
        for texture in TWO
        if texture is not Texture.RIDGES
    ]
    if len(picked) > 2:
        seen = _what_is_seen(picked, fabric, sight)
        textures += [_picture(texture, picked, seen, fabric, sight) for texture in THREE]
    return Pictures(
        sight_words=SIGHT_WORDS[sight],
        card=draw_card([yarn.swatch() for yarn in wound], sight=sight),
        card_label=f"{label} {SIGHT_WORDS[sight]}.",
        pairs=pairs,
        textures=textures,
    )


def pair_links(
    chosen: Sequence[Yarn], knit_along: KnitAlong, lettering: Lettering
) -> list[PairLink]:
    """Return every pair of the chosen yarns with its grade."""
    if len(chosen) < 2:
        return []
    letters = lettering.letters
    pairs = compare_all([yarn.swatch() for yarn in chosen], fabric_of(knit_along))
    return [
        PairLink(
            first=chosen[pair.first],
            second=chosen[pair.second],
            letters=f"{letter_at(letters, pair.first)} {letter_at(letters, pair.second)}",
            pair=pair,
            mark=MARKS[pair.grade],
        )
        for pair in pairs
    ]


def _pair_picture(
    pair: tuple[Yarn, Yarn], fabric: Fabric, sight: Sight, *, imperial: bool
) -> PairPicture:
    first, second = pair
    graded = compare(first.swatch(), second.swatch(), fabric)
    seen = _what_is_seen(pair, fabric, sight)
    return PairPicture(
        first=first,
        second=second,
        pair=graded,
        mark=MARKS[graded.grade],
        means=_(GRADES[graded.grade]),
        fades=fading(graded, imperial=imperial),
        seen=seen,
        picture=_picture(Texture.RIDGES, pair, seen, fabric, sight),
    )


def _picture(
    texture: Texture, yarns: Sequence[Yarn], seen: str, fabric: Fabric, sight: Sight
) -> Picture:
    title, description = TEXTURE_WORDS[texture]
    alt = _("%(texture)s of %(yarns)s. %(sight)s. %(seen)s") % {
        "texture": title,
        "yarns": "; ".join(f"{yarn.name}, {yarn.colour_words}" for yarn in yarns),
        "sight": SIGHT_WORDS[sight],
        "seen": seen,
    }
    return Picture(
        shown=Shown(texture, tuple(strand_of(yarn) for yarn in yarns), fabric, sight),
        keys=[yarn.pk for yarn in yarns],
        title=title,
        description=description,
        alt=alt,
    )


def _what_is_seen(yarns: Sequence[Yarn], fabric: Fabric, sight: Sight) -> str:
    """Return one sentence on how far apart the yarns look, of three the closest two, from each
    distance."""
    pairs = compare_all([_seen_swatch(yarn, sight) for yarn in yarns], fabric)
    closest = min(pairs, key=lambda pair: pair.left)
    hand, arm, room = (
        _seen_words(left)
        for left in (closest.left_in_hand, closest.left_at_arm, closest.left_across_room)
    )
    if len(yarns) == 2 and hand == arm == room:
        said = _("Near and far they %(hand)s.")
    elif len(yarns) == 2:
        said = _(
            "In hand they %(hand)s; at arm's length they %(arm)s; across a room they %(room)s."
        )
    else:
        said = _(
            "The closest two are %(first)s and %(second)s: in hand they %(hand)s; at arm's length "
            "they %(arm)s; across a room they %(room)s."
        )
    return said % {
        "first": yarns[closest.first].name,
        "second": yarns[closest.second].name,
        "hand": hand,
        "arm": arm,
        "room": room,
    }


def _seen_swatch(yarn: Yarn, sight: Sight) -> Swatch:
    swatch = yarn.swatch()
    return Swatch(
        swatch.name, as_seen(swatch.lab, sight), spread=swatch.spread, dye_style=swatch.dye_style
    )


def _seen_words(left: float) -> Text:
    return next(words for least, words in SEEN if left >= least)
