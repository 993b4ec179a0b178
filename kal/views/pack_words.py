"""What a participant should know before cast-on, once for the page and for paper.

How yarns are chosen for a many-coloured shawl is common practice of the trade, in our own words.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.utils.formats import date_format
from django.utils.timezone import localtime
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from kal.models import KnitAlong
from kal.needles import us_needle
from kal.units import figures, plain, weight_text
from kal.views.bringing import Amount
from kal.yarn_weights import YARN_WEIGHTS
from palettes.colour.quantities import balls_needed
from schedule.visibility import ListedClue

# Our choice: about twice what a pattern of five takes, still to be laid out on one table.
CANDIDATES = 10
LARGE_BALL, SMALL_BALL = Decimal(100), Decimal(50)  # grams; the usual put-ups (common practice)
CLUES_A_LINE = 5


@dataclass(frozen=True, slots=True)
class Section:
    """A heading and its sentences, in the reader's language."""

    heading: str
    lines: Sequence[str]


def own_words(knit_along: KnitAlong) -> list[Section]:
    """Return what the organiser says before cast-on, a line for each paragraph; maybe nothing."""
    paragraphs = re.split(r"\n\s*\n", knit_along.theme.replace("\r\n", "\n"))
    lines = [" ".join(paragraph.split()) for paragraph in paragraphs if paragraph.strip()]
    return [Section(_("From the organiser"), lines)] if lines else []


def choosing(knit_along: KnitAlong) -> list[Section]:
    """Return how to come from a stash to the yarns of this knit-along."""
    count = knit_along.colour_count
    return [
        Section(
            _("Light, medium, dark, and an accent"),
            [
                _(
                    "Lay out about %(many)d yarns that you like together, then narrow them to the "
                    "%(count)d the pattern takes. The others are your spares until the first clue "
                    "is worked: keep them at hand."
                )
                % {"many": max(CANDIDATES, 2 * count), "count": count},
                _(
                    "Begin with one that is clearly light and one that is clearly dark; most of "
                    "the pattern will be read by that difference."
                ),
                _("Put what lies between them beside these, and see that it is neither."),
                _(
                    "An accent is stronger in colour than the rest, or of quite another: one is "
                    "plenty, two quarrel."
                )
                if count > 2
                else _("With two colours the difference between them is all there is to see."),
                _(
                    "A speckled or variegated yarn wants a calm one beside it, solid or nearly so, "
                    "and well lighter or darker: two busy yarns hide what is knitted."
                ),
            ],
        ),
        Section(
            _("Look before you wind"),
            [
                _(
                    "Photograph the yarns side by side by daylight and make the photo grey. Two "
                    "that turn into one grey will not show against each other from across a room."
                ),
                _(
                    "Wind a wrap card: a few turns of each, side by side, round a strip of card, "
                    "in several orders. Look at it from arm's length and from the door."
                ),
                _(
                    "Enter them under My palette: its audit tells the greys, every pair, and "
                    "whether there is enough of each."
                ),
            ],
        ),
        Section(
            _("Swatch"),
            [
                _(
                    "Knit a swatch of your lightest and your darkest in the needle you mean to "
                    "use, wash and block it as you will the shawl, and let it dry."
                ),
                _(
                    "The pattern counts on %(stitches)s stitches and %(rows)s rows to 10 cm / "
                    "4 in. Too few stitches: take a thinner needle; too many: a thicker one."
                )
                % {
                    "stitches": figures(plain(knit_along.gauge_stitches)),
                    "rows": figures(plain(knit_along.gauge_rows)),
                },
            ],
        ),
    ]


def cautions() -> Section:
    """Return what is to be minded for hands, skin and wool."""
    return Section(
        _("Before you begin"),
        [
            _(
                "Rest and stretch your hands often. Pain, numbness or tingling is a reason to "
                "stop, and if it stays, to see a doctor."
            ),
            _(
                "If wool, another fibre or a dye has ever troubled your skin or breath, read the "
                "label first, and try a swatch against the skin. Your doctor's word comes before "
                "any pattern's."
            ),
            _(
                "Saturated and dark dyes can bleed. Wash a swatch of the darkest beside the "
                "palest, as the ball band says, before they meet in one piece."
            ),
            _("The ball band knows its yarn: follow it for washing, heat and blocking."),
        ],
    )


def balls_in_words(knit_along: KnitAlong, *, imperial: bool) -> list[str]:
    """Return in how many whole balls each weight comes, of 100 g and of 50 g as they are sold."""
    lines = []
    weights = {need.grams for need in knit_along.needs.all() if need.grams > SMALL_BALL}
    for grams in sorted(weights, reverse=True):
        large, small = (balls_needed(grams, None, ball, None) for ball in (LARGE_BALL, SMALL_BALL))
        words = ngettext(
            "%(weight)s: %(large)d ball of %(of_large)s, or %(small)d of %(of_small)s.",
            "%(weight)s: %(large)d balls of %(of_large)s, or %(small)d of %(of_small)s.",
            large,
        )
        told = {"weight": grams, "of_large": LARGE_BALL, "of_small": SMALL_BALL}
        in_words = {name: weight_text(each, imperial=imperial) for name, each in told.items()}
        lines.append(words % {**in_words, "large": large, "small": small})
    return lines


def bringing(knit_along: KnitAlong, amounts: Sequence[Amount], *, imperial: bool) -> Section:
    """Return colours, amounts, weight, needle and gauge of this knit-along."""
    needle = us_needle(knit_along.needle_mm)
    size = figures(plain(knit_along.needle_mm))
    return Section(
        _("What to bring"),
        [
            _("%(count)d colours, lettered %(letters)s, in %(weight)s yarn.")
            % {
                "count": knit_along.colour_count,
                "letters": ", ".join(knit_along.letters),
                "weight": YARN_WEIGHTS[knit_along.yarn_weight].label,
            },
            *(
                (
                    _("%(letters)s: %(weight)s and %(length)s of each.")
                    if "," in one.letters
                    else _("%(letters)s: %(weight)s and %(length)s.")
                )
                % {"letters": one.letters, "weight": one.weight, "length": one.length}
                for one in amounts
            ),
            *balls_in_words(knit_along, imperial=imperial),
            _("A needle of %(mm)s mm (US %(us)s), or the size that gives you gauge.")
            % {"mm": size, "us": needle}
            if needle
            else _("A needle of %(mm)s mm, or the size that gives you gauge.") % {"mm": size},
            _("A little over is wise: gauge eats yarn, and a dye lot may not come again."),
        ],
    )


def dates(knit_along: KnitAlong, clues: Sequence[ListedClue], zone: str) -> Section:
    """Return when sign-up closes and each clue goes out, in the zone of whoever reads."""
    told = [f"{clue.number}: {whole_day(clue.release_at)}" for clue in clues]
    lines = [
        _("Sign-up closes on %(day)s.") % {"day": whole_day(knit_along.sign_up_closes_at)},
        *(
            _("Clue %(clues)s") % {"clues": "; ".join(told[start : start + CLUES_A_LINE])}
            for start in range(0, len(told), CLUES_A_LINE)
        ),
        _("Times are in %(zone)s. They may change: the page of clues has the last word.")
        % {"zone": zone},
    ]
    return Section(_("When"), lines)


def whole_day(instant: datetime) -> str:
    """Return day and time in the reader's zone, kept on one line."""
    words = date_format(localtime(instant), "j F Y, H:i")
    return words.replace(" ", "\N{NO-BREAK SPACE}")
