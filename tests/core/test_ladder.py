import pytest

from palettes.colour.ladder import build_ladder, lightness_word
from tests import reference


@pytest.mark.parametrize(
    ("lightness", "word"),
    [
        (0, "dark"),
        (39.99, "dark"),
        (40, "medium"),
        (64.99, "medium"),
        (65, "light"),
        (100, "light"),
    ],
)
def test_lightness_words(lightness, word):
    assert lightness_word(lightness) == word


def test_words_fall_close_to_munsell_values_4_and_6_5():
    """ASTM D1535-08: values 1-3 are dark, 5 and 6 medium, 7-9 light."""
    words = {
        int(row["V"]): lightness_word(float(row["Lstar_from_Y_ASTM"]))
        for row in reference.rows("munsell_value.csv")
    }
    assert {words[v] for v in (1, 2, 3)} == {"dark"}
    assert {words[v] for v in (5, 6)} == {"medium"}
    assert {words[v] for v in (7, 8, 9)} == {"light"}


def test_ladder_of_a_mixed_palette():
    ladder = build_ladder([80, 20, 50, 25])
    assert ladder.order == (1, 3, 2, 0)
    assert ladder.words == ("light", "dark", "medium", "dark")
    assert ladder.gaps == (5, 25, 30)
    assert ladder.missing == ()
    assert ladder.present == ("light", "medium", "dark")
    assert ladder.distinct_greys == 3


def test_missing_rungs_are_named():
    ladder = build_ladder([45, 50, 55])
    assert ladder.missing == ("light", "dark")
    assert ladder.present == ("medium",)
    assert ladder.distinct_greys == 2


def test_equal_greys_keep_the_palettes_order_and_count_once():
    ladder = build_ladder([50, 50, 50])
    assert ladder.order == (0, 1, 2)
    assert ladder.distinct_greys == 1
