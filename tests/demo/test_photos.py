"""The demo's photo shows the yarns it is marked for."""

from kal.demo.photos import photograph
from palettes.colour.difference import delta_e_2000
from palettes.models import Mark
from tests.builders import NOON, make_palette, make_yarn


def test_each_yarn_is_where_it_is_marked_in_its_own_colour(kit):
    palette = make_palette(kit)
    yarns = [
        make_yarn(palette, lab_l=40 + 15 * n, lab_a=15 * n, lab_b=10, spread=6, dye_style=style)
        for n, style in enumerate(("tonal", "speckled", "variegated"))
    ]
    before = [yarn.lab for yarn in yarns]
    photograph(kit, yarns, at=NOON)
    photo = kit.photos.get()
    assert [mark.kind for mark in photo.marks.of_white()] == [Mark.Kind.PAPER]
    for yarn, lab in zip(palette.yarns.all(), before, strict=True):
        assert yarn.is_pictured
        # White paper takes the evening out again, but for what no white balance can.
        assert delta_e_2000(lab, yarn.lab) < 5
