"""The texture of a yarn out of its own photo: its owner's alone, and at the yarn's own colour."""

import io

import numpy as np
import pytest
from django.core.files.base import ContentFile
from django.urls import reverse
from PIL import Image

from palettes.colour.difference import delta_e_2000
from palettes.colour.light import Box
from palettes.colour.spaces import Lab, linear_to_lab, linear_to_srgb, srgb_to_linear
from palettes.measuring import texture_of
from palettes.models import Photo
from palettes.photos import read_photo, read_texture
from tests.builders import make_palette, make_participant, make_yarn
from tests.conftest import signed_in
from tests.core.photo_scenes import yarn as wound_yarn


def mean_lab(levels):
    return Lab(*linear_to_lab(srgb_to_linear(levels / 255).reshape(-1, 3).mean(axis=0)))


@pytest.fixture
def pictured(kit):
    """A yarn with its photo: blue on the left half, red on the right."""
    scene = np.hstack(
        [wound_yarn((45, 0, -35), size=200), wound_yarn((45, 50, 30), size=200, seed=2)]
    )
    buffer = io.BytesIO()
    Image.fromarray(np.rint(linear_to_srgb(scene) * 255).astype(np.uint8)).save(buffer, "PNG")
    picture = read_photo(buffer.getvalue())
    photo = Photo(participant=kit, width=picture.width, height=picture.height)
    photo.image.save("", ContentFile(picture.webp))
    return make_yarn(
        make_palette(kit), lab_l=50, lab_a=2, lab_b=-38, photo=photo, region=Box(0.05, 0, 0.45, 1)
    )


def address(yarn):
    slug = yarn.palette.participant.knit_along.slug
    return reverse("palettes:yarn_texture", args=[slug, yarn.pk])


def test_shows_the_marked_place_and_keeps_its_grain(pictured):
    with pictured.photo.image.open("rb") as file:
        levels = read_texture(file, pictured.region, 64)
    assert levels.shape == (64, 64, 3)
    assert levels.dtype == np.uint8
    # Ply shadow of 30 % darkens what the scene calls L* 45; the red half would be far away.
    assert delta_e_2000(mean_lab(levels), Lab(42, 0, -33)) < 4
    assert levels.std(axis=(0, 1)).max() > 4


def test_has_the_colour_that_was_measured(pictured):
    assert delta_e_2000(mean_lab(texture_of(pictured, 64)), pictured.lab) < 0.6


@pytest.mark.parametrize("size", [8, 400])
def test_comes_in_the_size_asked_for(pictured, size):
    assert texture_of(pictured, size).shape == (size, size, 3)


def test_its_owner_sees_it_and_no_cache_shares_it(as_kit, pictured):
    response = as_kit.get(address(pictured))
    assert response.status_code == 200
    assert response["Cache-Control"].startswith("private")
    image = Image.open(io.BytesIO(response.content))
    assert (image.format, image.size) == ("PNG", (128, 128))
    assert not image.info


def test_nobody_else_does(as_hana, as_sam, client, pictured):
    ann = signed_in(make_participant(pictured.palette.participant.knit_along, "Ann").user)
    for other in (as_hana, as_sam, ann):
        assert other.get(address(pictured)).status_code == 404
    assert client.get(address(pictured)).status_code == 302


def test_a_yarn_chosen_by_eye_has_none(as_kit, kit, pictured):
    by_eye = make_yarn(pictured.palette)
    assert not by_eye.is_pictured
    assert as_kit.get(address(by_eye)).status_code == 404


def test_another_colour_by_eye_lets_the_photo_go(as_kit, pictured):
    slug = pictured.palette.participant.knit_along.slug
    data = {"name": pictured.name, "colour": "#808080", "dye_style": "solid", "balls": "1"}
    as_kit.post(reverse("palettes:yarn", args=[slug, pictured.pk]), data)
    pictured.refresh_from_db()
    assert (pictured.photo, pictured.region) == (None, None)


def test_removing_the_photo_leaves_the_colour_and_no_texture(pictured):
    before = pictured.lab
    pictured.photo.delete()
    pictured.refresh_from_db()
    assert not pictured.is_pictured
    assert pictured.lab == before
