"""The printable palette card: one page with the yarns in colour, in grey and in words."""

from palettes.card.content import BadCard, Card, CardPair, CardYarn
from palettes.card.page import card_pdf

__all__ = ["BadCard", "Card", "CardPair", "CardYarn", "card_pdf"]
