"""The demo's photo shows the yarns it is marked for."""

from kal.demo.photos import photograph
from palettes.colour.difference import delta_e_2000
from palettes.colour.textures import mean_colour
from palettes.photos import read_patch
from tests.builders import NOON, make_palette, make_yarn


def test_each_yarn_is_where_it_is_marked_in_its_own_colour(kit):
    palette = make_palette(kit)
    yarns = [
        make_yarn(palette, lab_l=40 + 15 * n, lab_a=15 * n, lab_b=10, spread=6, dye_style=style)
        for n, style in enumerate(("tonal", "speckled", "variegated"))
    ]
    photograph(kit, yarns, at=NOON)
    assert kit.photos.count() == 1
    for yarn in palette.yarns.all():
        assert yarn.is_pictured
        with yarn.photo.image.open("rb") as file:
            shown = read_patch(file, yarn.region)
        assert delta_e_2000(mean_colour(shown), yarn.lab) < 4
