"""Grams and metres as knitters read them: sensible rounding for show.

The exact factors are in `palettes/colour/quantities.py`, which like all of the pure packages knows
none of the apps, so that anybody may ask it.
"""

from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal

from django.utils.formats import get_format

from palettes.colour.quantities import GRAMS_PER_OUNCE, METRES_PER_YARD

__all__ = [
    "GRAMS_PER_OUNCE",
    "METRES_PER_YARD",
    "amounts_text",
    "figures",
    "length_text",
    "ounces",
    "plain",
    "weight_text",
    "yards",
]

WHOLE, TENTH = Decimal(1), Decimal("0.1")


def yards(metres: Decimal) -> Decimal:
    """Return a length in yards, unrounded to the precision of the decimal context."""
    return metres / METRES_PER_YARD


def ounces(grams: Decimal) -> Decimal:
    """Return a weight in avoirdupois ounces, unrounded to the precision of the context."""
    return grams / GRAMS_PER_OUNCE


def weight_text(grams: Decimal, *, imperial: bool) -> str:
    """Return '100 g' or '3.5 oz', to a tenth, without a needless '.0'."""
    amount, symbol = (ounces(grams), "oz") if imperial else (grams, "g")
    return f"{figures(plain(amount.quantize(TENTH, ROUND_HALF_UP)))}\N{NO-BREAK SPACE}{symbol}"


def length_text(metres: Decimal, *, imperial: bool) -> str:
    """Return '400 m' or '438 yd', whole and rounded up: a metre short is a metre short."""
    amount, symbol = (yards(metres), "yd") if imperial else (metres, "m")
    return f"{plain(amount.quantize(WHOLE, ROUND_CEILING))}\N{NO-BREAK SPACE}{symbol}"


def amounts_text(grams: Decimal | None, metres: Decimal | None, *, imperial: bool) -> str:
    """Return the weight and the length, without what is not known; '' for neither."""
    weight = None if grams is None else weight_text(grams, imperial=imperial)
    length = None if metres is None else length_text(metres, imperial=imperial)
    return ", ".join(text for text in (weight, length) if text)


def figures(number: str) -> str:
    """Return a number like '3.5' with the reader's decimal mark: '3,5' in German."""
    return number.replace(".", get_format("DECIMAL_SEPARATOR"))


def plain(number: Decimal) -> str:
    """Return a decimal without exponent or trailing zeros: '3.5', '100', '0'."""
    text = f"{number:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
