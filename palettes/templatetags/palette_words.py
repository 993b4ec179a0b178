"""Words about yarns, in the reader's language and units."""

import math
from collections.abc import Iterable, Sequence
from typing import Final

from django import template
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from kal.models import User
from kal.units import amounts_text, plain
from palettes.colour.contrast import (
    CLOSE_FROM,
    JUST_NOTICEABLE,
    STRONG_FROM,
    WORKABLE_FROM,
    Grade,
)
from palettes.colour.phrases import whole
from palettes.colour.wording import GRADE_NAMES
from palettes.models import KitYarn
from palettes.models.yarn_facts import YarnFacts

register = template.Library()

# CIEDE2000 a yarn on average, below which two palettes are called so. Our choice: the bounds that
# also grade a pair, so that what would be close side by side is what is called very near.
NEARNESS: Final[Sequence[tuple[float, str | Promise]]] = (
    (JUST_NOTICEABLE, gettext_lazy("as good as the same")),
    (CLOSE_FROM, gettext_lazy("very near")),
    (WORKABLE_FROM, gettext_lazy("near")),
    (STRONG_FROM, gettext_lazy("somewhat like it")),
    (math.inf, gettext_lazy("quite different")),
)


@register.filter
def in_colour_words(yarns: Iterable[YarnFacts]) -> str:
    """Return the colours of yarns in their order, like 'dark blue; light neutral, cream'."""
    return "; ".join(yarn.colour_words for yarn in yarns)


@register.filter
def grade_name(grade: Grade) -> str:
    """Return the reader's word for a grade of contrast."""
    return _(GRADE_NAMES[grade])


@register.filter
def how_near(distance: float) -> str | Promise:
    """Return in words how near two palettes are, from the mean CIEDE2000 of their yarns."""
    return next(words for below, words in NEARNESS if distance < below)


register.filter("whole", whole)


@register.simple_tag
def kit_amount(yarn: KitYarn, reader: User) -> str:
    """Return how much of a yarn its kit holds, like '2 balls of 50 g, 200 m', in their units."""
    imperial = reader.reads_imperial
    put_up = amounts_text(yarn.put_up_grams, yarn.put_up_metres, imperial=imperial)
    balls, count = plain(yarn.balls), math.ceil(yarn.balls)
    if not put_up:
        return ngettext("%(balls)s ball", "%(balls)s balls", count) % {"balls": balls}
    words = ngettext("%(balls)s ball of %(put_up)s", "%(balls)s balls of %(put_up)s", count)
    return words % {"balls": balls, "put_up": put_up}
