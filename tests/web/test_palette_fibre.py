"""Fibre as knitters write it: what is read, and the one sentence for what cannot be."""

import pytest
from django.utils.translation import override

from palettes.errors import BadFibre
from palettes.fibre import parse_fibre, read_fibre

# Spellings seen on ball bands and in shops (common practice).
READ = [
    ("75% merino, 25% nylon", (("merino", 75), ("nylon", 25))),
    ("75 % Superwash Wool, 25 % Nylon.", (("superwash wool", 75), ("nylon", 25))),
    ("merino 75%, nylon 25 %", (("merino", 75), ("nylon", 25))),
    ("75/25 merino/nylon", (("merino", 75), ("nylon", 25))),
    ("80/10/10 merino, cashmere, nylon", (("merino", 80), ("cashmere", 10), ("nylon", 10))),
    ("70% baby alpaca and 30% silk", (("baby alpaca", 70), ("silk", 30))),
    ("62,5 % wool + 37,5 % silk", (("wool", 62.5), ("silk", 37.5))),
    (
        "70% wool 20% bamboo (viscose) 10% silk",
        (("wool", 70), ("bamboo (viscose)", 20), ("silk", 10)),
    ),
    ("100 per cent wool", (("wool", 100),)),
    ("Merino", (("merino", 100),)),
    ("80% wool, silk", (("wool", 80), ("silk", 20))),
    ("50% wool, 50% wool", (("wool", 100),)),
    ("33% wool, 33% silk, 33% yak", (("wool", 33), ("silk", 33), ("yak", 33))),
    ("75 % Merino und 25 % Polyamid", (("merino", 75), ("polyamid", 25))),
    ("80 Prozent Schurwolle mit 20 Prozent Seide", (("schurwolle", 80), ("seide", 20))),
    ("", ()),
    ("   ", ()),
]


@pytest.mark.parametrize(("text", "parts"), READ)
def test_reads(text, parts):
    assert parse_fibre(text) == parts


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("80% wool, 40% nylon", "The shares add up to 120%; together they can be 100% at most."),
        ("wool 101%", "The shares add up to 101%; together they can be 100% at most."),
        ("wool, nylon", "Give wool and nylon a share too, like “75% merino, 25% nylon”."),
        ("100% wool, nylon", "Give nylon a share too"),
        ("0% wool", "Every share must be more than 0%"),
        ("-5% wool", "has a share below zero"),
        ("75%", "could not be read; write each share and its fibre"),
        ("50", "could not be read"),
        ("80/20 superwash merino nylon", "could not be read"),
        (", ;", "names no fibre"),
    ],
)
def test_refuses_in_one_sentence(text, sentence):
    with pytest.raises(BadFibre) as refused:
        parse_fibre(text)
    assert sentence in str(refused.value)
    assert read_fibre(text) == ()


def test_a_refusal_lists_fibres_in_the_readers_language():
    with override("de"), pytest.raises(BadFibre, match="wolle und seide"):
        parse_fibre("Wolle, Seide")
