import numpy as np
import pytest
from coloraide import Color

from palettes.colour import spaces
from palettes.colour.difference import delta_e_2000_pairs
from palettes.colour.errors import BadHexColour, BadLab, ColourError
from palettes.colour.spaces import Lab
from tests import reference
from tests.yardsticks import colour_science


@pytest.mark.parametrize(
    ("typed", "canonical"),
    [
        ("#7a4b2c", "#7a4b2c"),
        ("7A4B2C", "#7a4b2c"),
        ("#abc", "#aabbcc"),
        ("ABC", "#aabbcc"),
        (" aabbcc\n", "#aabbcc"),
    ],
)
def test_hex_is_read_as_people_type_it(typed, canonical):
    assert spaces.parse_hex(typed) == canonical


@pytest.mark.parametrize(
    "typed", ["", "#", "#ab", "#abcd", "#abcde", "#12345g", "##aabbcc", "red", "٣٣٣"]
)
def test_anything_else_is_refused_with_an_example(typed):
    with pytest.raises(BadHexColour, match="is not a colour; write it like '#7a4b2c'") as refusal:
        spaces.parse_hex(typed)
    assert repr(typed) in str(refusal.value)
    assert isinstance(refusal.value, ColourError)


@pytest.mark.parametrize(
    ("lab", "message"),
    [
        (Lab(-1, 0, 0), "between 0 .black. and 100 .white."),
        (Lab(101, 0, 0), "L. is 101"),
        (Lab(50, float("nan"), 0), "must be plain numbers"),
        (Lab(50, 0, 300), "must be between -200 and 200"),
    ],
)
def test_impossible_lab_is_refused(lab, message):
    with pytest.raises(BadLab, match=message):
        spaces.lab_to_hex(lab)


def test_black_and_white_are_the_ends_of_the_scale():
    assert spaces.hex_to_lab("#000000") == (0.0, 0.0, 0.0)
    assert spaces.hex_to_lab("#fff") == pytest.approx((100, 0, 0), abs=1e-12)


@pytest.mark.parametrize("level", range(0, 256, 15))
def test_grey_axis_is_neutral(level):
    lab = spaces.hex_to_lab(f"#{level:02x}{level:02x}{level:02x}")
    assert spaces.chroma(lab) < 1e-12
    assert spaces.grey_hex(lab) == spaces.lab_to_hex(lab)


def test_agrees_with_coloraide():
    """coloraide 8: sRGB to CIE L*a*b* D65, whose white has the same chromaticity as ours."""
    colours = np.random.default_rng(5).uniform(0, 1, (300, 3))
    theirs = [Color("srgb", rgb).convert("lab-d65").coords() for rgb in colours.tolist()]
    assert spaces.srgb_to_lab(colours) == pytest.approx(np.array(theirs), abs=1e-6)


def test_agrees_with_colour_science_within_its_rounded_matrix():
    """colour-science 0.4 uses the matrix of IEC 61966-2-1, printed to four digits."""
    colours = np.random.default_rng(6).uniform(0, 1, (300, 3))
    xyz = colour_science.sRGB_to_XYZ(colours)
    theirs = colour_science.XYZ_to_Lab(xyz, np.array(spaces.D65_XY))
    assert delta_e_2000_pairs(spaces.srgb_to_lab(colours), theirs).max() < 0.05


def test_every_hex_survives_the_round_trip():
    levels = np.arange(0, 256, 17)
    cube = np.stack(np.meshgrid(levels, levels, levels), axis=-1).reshape(-1, 3)
    back = spaces.lab_to_srgb(spaces.srgb_to_lab(cube / 255)) * 255
    assert np.array_equal(np.rint(back), cube)
    assert spaces.lab_to_hex(spaces.hex_to_lab("#7a4b2c")) == "#7a4b2c"


def test_out_of_gamut_is_clipped_only_when_written_as_hex():
    vivid = Lab(60, -110, 10)
    assert spaces.lab_to_srgb(vivid).min() < 0
    assert spaces.srgb_to_lab(spaces.lab_to_srgb(vivid)) == pytest.approx(vivid, abs=1e-9)
    assert spaces.lab_to_hex(vivid)[1:3] == "00"


def test_one_hex_colour_is_converted_as_an_array_of_them_is():
    colours = np.random.default_rng(7).integers(0, 256, (200, 3))
    alone = [spaces.hex_to_lab("#{:02x}{:02x}{:02x}".format(*rgb)) for rgb in colours.tolist()]
    assert spaces.srgb_to_lab(colours / 255) == pytest.approx(np.array(alone), abs=1e-12)


def test_hue_and_chroma():
    assert spaces.hue_angle(Lab(50, 0, 0)) == 0
    assert spaces.hue_angle(Lab(50, 3, -3)) == pytest.approx(315)
    assert spaces.hue_angle(Lab(50, 3, -1e-20)) == 0
    assert spaces.chroma(Lab(50, 3, -4)) == 5


@pytest.mark.parametrize(
    "row", reference.rows("munsell_value.csv"), ids=lambda row: f"N {row['V']}/"
)
def test_munsell_values_have_their_published_lightness(row):
    """ASTM D1535-08 luminance factor to CIE 1976 lightness."""
    grey = spaces.D65_WHITE * float(row["Y_ASTM_D1535_08"]) / 100
    light, a, b = spaces.xyz_to_lab(grey)
    assert light == pytest.approx(float(row["Lstar_from_Y_ASTM"]), abs=1e-3)
    assert (a, b) == pytest.approx((0, 0), abs=1e-9)


@pytest.mark.parametrize("row", reference.rows("colorchecker24.csv"), ids=lambda row: row["name"])
def test_colorchecker_2005_reaches_srgb_through_bradford(row):
    """CIELAB D50 of the 2005 edition to sRGB (D65), as computed with Bradford by colour-science."""
    lab = [float(row[f"{axis}_2005_colour"]) for axis in "Lab"]
    d50 = spaces.white_xyz(spaces.D50_XY)
    adapted = spaces.adapt(spaces.lab_to_xyz(lab, d50), d50, spaces.D65_WHITE)
    computed = spaces.linear_to_srgb(spaces.xyz_to_linear(adapted)) * 255
    published = [float(row[f"{channel}_2005_bradford"]) for channel in "rgb"]
    inside = row["in_srgb_gamut"] == "yes"
    # Outside the gamut the reference's transfer curve for negative light is its own affair.
    if inside:
        assert computed == pytest.approx(published, abs=0.4)
    assert (computed.min() >= 0) == inside


def test_adapting_a_white_gives_the_other_white():
    d50 = spaces.white_xyz(spaces.D50_XY)
    assert spaces.adapt(d50, d50, spaces.D65_WHITE) == pytest.approx(spaces.D65_WHITE)


@pytest.mark.parametrize(
    "row",
    reference.rows("wcag_examples.csv"),
    ids=lambda r: f"{r['foreground']} on {r['background']}",
)
def test_wcag_ratios_are_the_published_ones(row):
    ratio = spaces.wcag_contrast(row["foreground"], row["background"])
    assert ratio == pytest.approx(float(row["computed_ratio"]), abs=5e-5)
    published = row["published_ratio"].removesuffix(":1")
    digits = len(published.partition(".")[2])
    # Authors round or cut off, so the ratio lies within one unit of the last digit printed.
    assert abs(ratio - float(published)) < 10**-digits


def test_wcag_contrast_does_not_depend_on_order():
    assert spaces.wcag_contrast("#777", "#fff") == spaces.wcag_contrast("#fff", "#777")
    assert spaces.wcag_contrast("#777", "#fff") < 4.5
    assert spaces.relative_luminance("#fff") == pytest.approx(1)
