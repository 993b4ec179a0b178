"""Weights, lengths and distances as a sentence says them, in either system of units."""

import math
from decimal import ROUND_HALF_UP, Decimal

from palettes.colour.phrases import UNTRANSLATED, Translator, fill
from palettes.colour.phrases import gettext_noop as _
from palettes.colour.quantities import (
    METRES_PER_FOOT,
    Amount,
    exact,
    ounces_from_grams,
    yards_from_metres,
)

TENTHS, HUNDREDTHS = Decimal(10), Decimal(100)


def weight_words(grams: Amount, to: Translator = UNTRANSLATED, *, imperial: bool = False) -> str:
    """Return '51 g' or '1.8 oz', rounded up: what is bought to that number must be enough."""
    if imperial:
        tenths = math.ceil(ounces_from_grams(grams) * TENTHS) / TENTHS
        return fill(_("{amount} oz"), {"amount": to.figures(f"{tenths:g}")}, to)
    return fill(_("{amount} g"), {"amount": math.ceil(exact(grams))}, to)


def need_words(grams: Amount, to: Translator = UNTRANSLATED, *, imperial: bool = False) -> str:
    """Return '100 g' or '3.5 oz', to the nearest tenth: what a pattern takes, as tables say it."""
    amount, words = (
        (ounces_from_grams(grams), _("{amount} oz"))
        if imperial
        else (exact(grams), _("{amount} g"))
    )
    tenths = float(amount.quantize(1 / TENTHS, ROUND_HALF_UP))
    return fill(words, {"amount": to.figures(f"{tenths:.15g}")}, to)


def scale_words(grams: Amount, to: Translator = UNTRANSLATED, *, imperial: bool = False) -> str:
    """Return '120.5 g' or '4.25 oz', fine enough to tell two readings apart."""
    if imperial:
        hundredths = round(ounces_from_grams(grams) * HUNDREDTHS) / HUNDREDTHS
        return fill(_("{amount} oz"), {"amount": to.figures(f"{float(hundredths):g}")}, to)
    return fill(_("{amount} g"), {"amount": to.figures(f"{float(grams):g}")}, to)


def length_words(metres: Amount, to: Translator = UNTRANSLATED, *, imperial: bool = False) -> str:
    """Return '400 m' or '438 yd', rounded up as weights are."""
    if imperial:
        return fill(_("{amount} yd"), {"amount": math.ceil(yards_from_metres(metres))}, to)
    return fill(_("{amount} m"), {"amount": math.ceil(exact(metres))}, to)


def distance_words(metres: float, to: Translator = UNTRANSLATED, *, imperial: bool = False) -> str:
    """Return how far off the eye is: '3 m' or '10 ft', to the nearest whole one."""
    if imperial:
        feet = round(exact(metres) / METRES_PER_FOOT)
        return fill(_("{amount} ft"), {"amount": feet}, to)
    return fill(_("{amount} m"), {"amount": round(metres)}, to)
