"""Photos whose light can be trusted, and those that are refused with a reason."""

import numpy as np
import pytest

from palettes.colour.difference import delta_e_2000_pairs
from palettes.colour.light import (
    BadBox,
    Box,
    ClippedPhoto,
    Reference,
    StrongCast,
    TooDark,
    UnevenLight,
    apply_balance,
    balance_matrix,
    check_without_reference,
    crop,
)
from palettes.colour.spaces import (
    D65_WHITE,
    linear_to_lab,
    linear_to_srgb,
    srgb_to_linear,
    xyz_to_lab,
    xyz_to_linear,
)
from tests.core.photo_scenes import flat, yarn
from tests.yardsticks import colour_science as colour

ALL = Box(0, 0, 1, 1)
PAPER_Y = 0.876


def colorchecker_under(illuminant: str):
    """Return XYZ of the 24 patches and of a flat white paper, lit by a CIE illuminant.

    Measured reflectances: BabelColor average, as colour-science 0.4.7 ships them.
    """
    shape = colour.SpectralShape(380, 730, 10)
    observer = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"].copy().align(shape)
    light = colour.SDS_ILLUMINANTS[illuminant].copy().align(shape)
    patches = [
        sd.copy().align(shape) for sd in colour.SDS_COLOURCHECKERS["BabelColor Average"].values()
    ]
    spectra = [*patches, colour.sd_constant(PAPER_Y, shape)]
    return np.array(
        [colour.sd_to_XYZ(sd, observer, light, method="Integration") / 100 for sd in spectra]
    )


def photographed(xyz):
    """Return what an 8-bit sRGB camera without white balance keeps of XYZ, not quite clipped."""
    linear = xyz_to_linear(xyz)
    exposed = np.clip(linear * 0.85 / linear.max(), 0, 1)
    return srgb_to_linear(np.round(linear_to_srgb(exposed) * 255) / 255)


@pytest.mark.parametrize(
    ("illuminant", "mean_below", "worst_below"),
    # Measured 0.30/2.1, 0.77/3.0, 0.43/2.8, 3.05/8.2 and 3.05/9.6. What remains under a lamp
    # is metamerism, which no white balance mends, and colours outside sRGB.
    [("D65", 0.4, 2.5), ("D50", 0.9, 3.3), ("D75", 0.6, 3.1), ("A", 3.3, 9.0), ("FL2", 3.3, 10.0)],
)
def test_white_paper_recovers_the_colorchecker(illuminant, mean_below, worst_below):
    seen = photographed(colorchecker_under(illuminant))
    paper = np.broadcast_to(seen[-1], (20, 20, 3))
    daylight = colorchecker_under("D65")
    truth = xyz_to_lab(daylight, daylight[-1] / PAPER_Y)[:24]
    found = linear_to_lab(apply_balance(seen, balance_matrix(paper, ALL)))[:24]
    errors = delta_e_2000_pairs(truth, found)
    assert errors.mean() < mean_below
    assert errors.max() < worst_below


@pytest.mark.parametrize(("kind", "l"), [(Reference.PAPER, 95.0), (Reference.GREY_CARD, 49.5)])
def test_the_reference_itself_becomes_neutral_and_rightly_light(kind, l):  # noqa: E741
    tinted = flat((70, 12, 25), 30, 30)
    balanced = apply_balance(tinted, balance_matrix(tinted, ALL, kind))
    assert linear_to_lab(balanced)[0, 0] == pytest.approx([l, 0, 0], abs=0.1)


def test_uneven_light_across_the_paper_is_refused():
    paper = flat((95, 0, 0), 60, 60) * np.linspace(0.6, 1, 60)[:, np.newaxis, np.newaxis]
    with pytest.raises(UnevenLight, match=r"One side of the white paper is \d+ % brighter"):
        balance_matrix(paper, ALL)


def test_burnt_out_paper_is_refused():
    with pytest.raises(ClippedPhoto, match="100 % of the white paper is burnt out"):
        balance_matrix(np.ones((20, 20, 3)), ALL)


def test_dark_paper_is_refused():
    with pytest.raises(TooDark, match=r"The white paper comes out at 5 % of full light"):
        balance_matrix(np.full((20, 20, 3), 0.05), ALL)


def test_a_dark_photo_without_reference_is_refused():
    with pytest.raises(TooDark, match="use daylight near a window"):
        check_without_reference(np.full((20, 20, 3), 0.05))


@pytest.mark.parametrize(("illuminant", "refused"), [("A", True), ("FL2", True), ("D50", False)])
def test_lamp_light_without_a_reference_is_refused_and_daylight_is_not(illuminant, refused):
    scene = photographed(colorchecker_under(illuminant)).reshape(5, 5, 3)
    if not refused:
        check_without_reference(scene)
        return
    with pytest.raises(StrongCast, match="leans orange"):
        check_without_reference(scene)


@pytest.mark.parametrize("lab", [(45, 60, 30), (50, -40, 20), (40, 40, -30)])
def test_a_close_up_of_a_vivid_yarn_is_no_cast(lab):
    """Red, green and purple are not colours that lamps or skies have."""
    check_without_reference(yarn(lab))


def test_grey_stays_grey_under_any_balance():
    grey = flat((50, 0, 0), 20, 20)
    matrix = balance_matrix(flat((95, 0, 0), 20, 20), ALL)
    assert linear_to_lab(apply_balance(grey, matrix))[0, 0, 1:] == pytest.approx([0, 0], abs=1e-6)
    assert D65_WHITE[1] == 1


@pytest.mark.parametrize(
    "corners", [(0, 0, 0, 1), (0.5, 0, 0.4, 1), (-0.1, 0, 1, 1), (0, 0, 1, 1.2)]
)
def test_a_box_outside_the_photo_is_refused(corners):
    with pytest.raises(BadBox, match="is not inside the photo"):
        Box(*corners)


def test_a_box_of_a_few_pixels_is_refused():
    with pytest.raises(BadBox, match="holds only 1 by 1 pixels"):
        crop(np.ones((10, 10, 3)), Box(0, 0, 0.1, 0.1))


def test_what_srgb_leaves_out_of_display_p3_is_measured_near_enough():
    """Every eighth level of Display P3, turned into linear sRGB by colour-science."""
    levels = np.arange(0, 256, 8) / 255
    wide = np.stack(np.meshgrid(levels, levels, levels), axis=-1).reshape(-1, 3)
    linear = colour.RGB_to_RGB(wide, "Display P3", "sRGB", apply_cctf_decoding=True)
    left_out = linear[(linear < 0).any(axis=1) & (linear < 0.95).all(axis=1)]
    moved = delta_e_2000_pairs(linear_to_lab(left_out), linear_to_lab(np.clip(left_out, 0, 1)))
    assert np.median(moved) == pytest.approx(2.7, abs=0.1)
    assert moved.max() < 8.5
