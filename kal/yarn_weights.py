"""The Craft Yarn Council's yarn weight categories, as guidelines for gauge and needle.

Source: Craft Yarn Council's www.YarnStandards.com, Standard Yarn Weight System. The standard
calls its ranges guidelines only, so what falls outside is a warning and never a refusal. They are
of plain fabric; shawls are knitted looser (common practice), which is no reason to warn.
"""

from decimal import Decimal
from typing import NamedTuple

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from kal.units import figures, plain

# How much looser than the guideline a shawl may be before anybody is warned: so many times the
# needle, and so many times fewer stitches. Our choice: of fingering, 27 to 32 stitches on up to
# 3.25 mm, it allows 21.6 stitches and 4 mm, where most shawls of it are (common practice).
SHAWL_LOOSENESS = Decimal("1.25")


class YarnWeight(NamedTuple):
    """One category: stocking-stitch gauge in stitches to 4 in and needle in mm; None is open."""

    category: int
    name: str
    examples: str
    stitches_min: int | None
    stitches_max: int
    needle_mm_min: Decimal
    needle_mm_max: Decimal | None

    @property
    def label(self) -> str:
        return f"{self.category} {_(self.name)} ({_(self.examples)})"

    @property
    def stitches_text(self) -> str:
        """The guideline gauge in words, '27 to 32 stitches to 10 cm / 4 in'."""
        span = in_words(self.stitches_min, self.stitches_max)
        return _("{span} stitches to 10 cm / 4 in").format(span=span)

    @property
    def needle_text(self) -> str:
        """The guideline needle in words, '2.25 to 3.25 mm'."""
        most = None if self.needle_mm_max is None else figures(plain(self.needle_mm_max))
        return _("{amount} mm").format(amount=in_words(figures(plain(self.needle_mm_min)), most))


def in_words(least: object | None, most: object | None) -> str:
    if least is None:
        return _("up to {most}").format(most=most)
    if most is None:
        return _("{least} or more").format(least=least)
    return _("{least} to {most}").format(least=least, most=most)


YARN_WEIGHTS = tuple(
    YarnWeight(
        category, name, examples, low, high, Decimal(thin), Decimal(thick) if thick else None
    )
    for category, name, examples, low, high, thin, thick in (
        (
            0,
            gettext_noop("Lace"),
            gettext_noop("fingering, 10-count crochet thread"),
            33,
            40,
            "1.5",
            "2.25",
        ),
        (
            1,
            gettext_noop("Super Fine"),
            gettext_noop("sock, fingering, baby"),
            27,
            32,
            "2.25",
            "3.25",
        ),
        (2, gettext_noop("Fine"), gettext_noop("sport, baby"), 23, 26, "3.25", "3.75"),
        (3, gettext_noop("Light"), gettext_noop("DK, light worsted"), 21, 24, "3.75", "4.5"),
        (4, gettext_noop("Medium"), gettext_noop("worsted, afghan, aran"), 16, 20, "4.5", "5.5"),
        (5, gettext_noop("Bulky"), gettext_noop("chunky, craft, rug"), 12, 15, "5.5", "8"),
        (6, gettext_noop("Super Bulky"), gettext_noop("super bulky, roving"), 7, 11, "8", "12.75"),
        (7, gettext_noop("Jumbo"), gettext_noop("jumbo, roving"), None, 6, "12.75", None),
    )
)


def yarn_weight_choices() -> list[tuple[int, str]]:
    """Return (category, label) pairs for a form or model field."""
    return [(weight.category, weight.label) for weight in YARN_WEIGHTS]


def guideline_warnings(
    category: int, *, stitches_to_10_cm: Decimal, needle_mm: Decimal
) -> list[str]:
    """Return a sentence for each of gauge and needle outside the category's guideline.

    The standard counts stitches to 4 in; the trade reads 10 cm and 4 in as one (common
    practice), and so does this. What is looser by no more than shawls are is not told.
    """
    weight = YARN_WEIGHTS[category]
    return [
        _(
            "{amount} is outside the guideline for {weight} yarn, {guideline}, even for a shawl, "
            "which is often knitted up to a quarter looser. That can be right for your fabric; the "
            "standard calls its ranges guidelines only."
        ).format(
            amount=measured.format(amount=figures(plain(amount))),
            weight=_(weight.name),
            guideline=guideline,
        )
        for amount, measured, guideline, low, high in (
            (
                stitches_to_10_cm,
                _("{amount} stitches to 10 cm"),
                weight.stitches_text,
                weight.stitches_min and weight.stitches_min / SHAWL_LOOSENESS,
                weight.stitches_max,
            ),
            (
                needle_mm,
                _("{amount} mm"),
                weight.needle_text,
                weight.needle_mm_min,
                weight.needle_mm_max and weight.needle_mm_max * SHAWL_LOOSENESS,
            ),
        )
        if not is_within(amount, low, high)
    ]


def is_within(amount: Decimal, low: Decimal | int | None, high: Decimal | int | None) -> bool:
    return (low is None or amount >= low) and (high is None or amount <= high)
