import math

import pytest

from palettes.colour.schemes import Scheme, read_scheme
from palettes.colour.spaces import Lab, hex_to_lab


def polar(hue, c=40.0, l=50.0):  # noqa: E741
    return Lab(l, c * math.cos(math.radians(hue)), c * math.sin(math.radians(hue)))


@pytest.mark.parametrize(
    ("hues", "scheme"),
    [
        ([10], Scheme.MONOCHROMATIC),
        ([350, 10, 0], Scheme.MONOCHROMATIC),
        ([0, 30], Scheme.MONOCHROMATIC),
        ([0, 31], Scheme.ANALOGOUS),
        ([340, 10, 40], Scheme.ANALOGOUS),
        ([0, 45, 90], Scheme.ANALOGOUS),
        ([0, 180], Scheme.COMPLEMENTARY),
        ([355, 10, 170, 190], Scheme.COMPLEMENTARY),
        ([0, 151], Scheme.COMPLEMENTARY),
        ([0, 120], Scheme.TWO_HUES),
        ([0, 150, 210], Scheme.SPLIT_COMPLEMENTARY),
        ([10, 130, 250], Scheme.TRIADIC),
        ([0, 90, 180, 270], Scheme.POLYCHROME),
        ([0, 60, 120, 180, 240, 300], Scheme.POLYCHROME),
        ([0, 50, 100, 230], Scheme.POLYCHROME),
    ],
)
def test_scheme_by_hue_angles(hues, scheme):
    assert read_scheme([polar(hue) for hue in hues]).scheme is scheme


@pytest.mark.parametrize("turn", [37, 111, 200, 359])
@pytest.mark.parametrize("hues", [[0, 20], [0, 45, 90], [0, 180], [0, 120], [0, 150, 210]])
def test_turning_the_whole_wheel_keeps_the_scheme(hues, turn):
    still = read_scheme([polar(hue) for hue in hues])
    turned = read_scheme([polar(hue + turn) for hue in reversed(hues)])
    assert turned.scheme is still.scheme
    assert turned.arc == pytest.approx(still.arc)


def test_greys_have_no_scheme_but_neutral():
    reading = read_scheme([Lab(10, 0, 0), Lab(50, 3, 2), Lab(90, 0, 6)])
    assert reading.scheme is Scheme.NEUTRAL
    assert reading.neutrals == (0, 1, 2)
    assert reading.hues == ()
    assert reading.arc == 0


def test_one_colour_among_greys_is_an_accent():
    reading = read_scheme([Lab(10, 0, 0), Lab(50, 0, 0), Lab(90, 0, 0), polar(30)])
    assert reading.scheme is Scheme.ACCENTED_NEUTRAL
    assert reading.neutrals == (0, 1, 2)


def test_a_faint_tint_beside_a_vivid_yarn_counts_as_neutral():
    """Chroma weighs: 12 is a colour among tints, and a grey beside 100."""
    assert read_scheme([polar(0, 100), polar(180, 12)]).scheme is Scheme.MONOCHROMATIC
    assert read_scheme([polar(0, 20), polar(180, 12)]).scheme is Scheme.COMPLEMENTARY


def test_group_hue_leans_to_the_stronger_colour():
    (hue,) = read_scheme([polar(0, 60), polar(20, 20)]).hues
    assert 0 < hue < 10


def test_named_examples():
    blues = [hex_to_lab(text) for text in ("#0b2545", "#2f5d8a", "#8fb3d9")]
    assert read_scheme(blues).scheme is Scheme.MONOCHROMATIC
    autumn = [hex_to_lab(text) for text in ("#8c2f1b", "#c9782f", "#d9b23c")]
    assert read_scheme(autumn).scheme is Scheme.ANALOGOUS
    # Yellow and violet-blue oppose each other in Munsell's wheel as in CIELAB's.
    assert (
        read_scheme([hex_to_lab("#e0c040"), hex_to_lab("#4a55b0")]).scheme is Scheme.COMPLEMENTARY
    )


def test_yarns_of_one_and_the_same_hue_are_monochromatic():
    reading = read_scheme([Lab(45, 60, 35)] * 5)
    assert reading.scheme is Scheme.MONOCHROMATIC
    assert reading.arc == 0
