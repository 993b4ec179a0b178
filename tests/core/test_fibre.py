"""Ball bands read the way knitters read them (common practice)."""

import pytest

from palettes.colour.fibre import (
    Delicacy,
    delicacy,
    is_superwash,
    main_kind,
    may_felt,
)
from palettes.colour.spaces import Lab
from palettes.colour.swatch import Swatch


def yarn(fibre="", care="", name="Fog"):
    """A yarn by its fibres in per cent, written like '75 wool, 25 nylon'."""
    shares = (part.split(maxsplit=1) for part in fibre.split(", ") if part)
    parts = tuple((name, float(share)) for share, name in shares)
    return Swatch(name, Lab(50, 0, 0), fibre=parts, care=care)


@pytest.mark.parametrize(
    ("care", "expected"),
    [
        ("machine", Delicacy.MACHINE),
        ("hand", Delicacy.HAND),
        ("dry", Delicacy.DRY_CLEAN),
        ("Hand wash cold", Delicacy.HAND),
        ("Hand wash, dry flat", Delicacy.HAND),
        ("Machine wash cool, do not tumble dry", Delicacy.MACHINE),
        ("Hand wash, do not dry clean", Delicacy.HAND),
        ("Dry clean only", Delicacy.DRY_CLEAN),
        ("", None),
    ],
)
def test_care_words(care, expected):
    assert delicacy(yarn("100 wool", care)) is expected


def test_superwash_is_believed_wherever_it_is_written():
    assert is_superwash(yarn("100 superwash merino"))
    assert is_superwash(yarn(name="Superwash Sock"))
    assert is_superwash(yarn("100 wool", "machine"))
    assert not is_superwash(yarn("100 non-superwash wool", "hand"))
    # Linen goes in the machine too, and was never going to felt.
    assert not is_superwash(yarn("100 linen", "machine"))
    assert delicacy(yarn("100 superwash merino")) is Delicacy.MACHINE


@pytest.mark.parametrize(
    ("fibre", "care", "felts"),
    [
        ("100 wool", "hand", True),
        ("55 alpaca, 45 silk", "hand", True),
        ("30 wool, 70 cotton", "hand", False),
        ("100 wool", "machine", False),
        ("100 superwash merino", "hand", False),
        ("100 wool", "", False),
        ("100 linen", "hand", False),
        ("", "hand", False),
    ],
)
def test_only_untreated_hair_felts(fibre, care, felts):
    assert may_felt(yarn(fibre, care)) is felts


@pytest.mark.parametrize(
    ("fibre", "kind"),
    [
        ("80 wool, 20 nylon", "animal"),
        ("100 mulberry silk", "silk"),
        ("60 cotton, 40 acrylic", "plant"),
        ("100 acrylic", "synthetic"),
        ("100 moonbeam", None),
        ("", None),
    ],
)
def test_main_kind(fibre, kind):
    assert main_kind(yarn(fibre)) == kind


@pytest.mark.parametrize(
    ("fibre", "kind"),
    [
        ("100 Schurwolle", "animal"),
        ("80 Wolle, 20 Polyamid", "animal"),
        ("100 Baumwolle", "plant"),
        ("60 Leinen, 40 Viskose", "plant"),
        ("55 Maulbeerseide, 45 Kaschmir", "silk"),
        ("100 Polyacryl", "synthetic"),
    ],
)
def test_german_ball_bands_are_understood(fibre, kind):
    """The names of the EU's textile labelling regulation (1007/2011, annex I), and common ones."""
    assert main_kind(yarn(fibre)) == kind


def test_german_wool_may_felt_like_english_wool():
    assert may_felt(yarn("100 Schurwolle", "hand"))
    assert not may_felt(yarn("100 Baumwolle", "hand"))
    assert may_felt(yarn("100 Merino nicht superwash", "hand"))
