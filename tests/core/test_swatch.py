import pytest

from palettes.colour.errors import BadFabric, BadLab, BadQuantity, BadSwatch
from palettes.colour.spaces import Lab
from palettes.colour.swatch import Fabric, Need, Swatch

GREY = Lab(50, 0, 0)


def test_a_name_and_a_colour_are_enough():
    assert Swatch("Fog", GREY).spread == 0


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        ({"spread": -1}, "Fog: spread is -1"),
        ({"spread": float("nan")}, "Fog: spread is nan"),
        ({"put_up_grams": 0}, "Fog: 0 grams a ball"),
        ({"put_up_metres": -400}, "Fog: -400 metres a ball"),
        ({"balls": -1}, "Fog: -1 balls"),
        ({"fibre": (("wool", 0.0),)}, "Fog: every fibre's share"),
    ],
)
def test_impossible_yarns_are_refused(wrong, message):
    with pytest.raises(BadSwatch, match=message):
        Swatch("Fog", GREY, **wrong)


def test_impossible_colour_is_refused():
    with pytest.raises(BadLab, match=r"L\* is 120"):
        Swatch("Fog", Lab(120, 0, 0))


def test_row_height_follows_from_gauge():
    fabric = Fabric(stitches_per_10cm=20, rows_per_10cm=40)
    assert fabric.row_height_mm == 2.5
    assert fabric.stitch_width_mm == 5


@pytest.mark.parametrize("gauge", [0, -3, float("nan"), float("inf"), 900])
def test_impossible_gauge_is_refused(gauge):
    with pytest.raises(BadFabric, match="is not a gauge; use 1 to 200, such as 22"):
        Fabric(stitches_per_10cm=gauge)
    with pytest.raises(BadFabric, match="rows to 10 cm"):
        Fabric(rows_per_10cm=gauge)


def test_a_need_is_a_positive_amount():
    with pytest.raises(BadQuantity, match="Colour B needs 0 grams; it must be more than 0"):
        Need("B", 0, 100)
    with pytest.raises(BadQuantity, match="Colour B needs -1 metres"):
        Need("B", 10, -1)
