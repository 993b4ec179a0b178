"""`manage.py measure_photo`: the yarns of a photo file, found and measured."""

import json
from io import StringIO

import numpy as np
import pytest
from django.core.management import CommandError, call_command
from PIL import Image

from palettes.colour.difference import delta_e_2000
from palettes.colour.light import Box
from palettes.colour.measure import measure_yarn
from palettes.colour.spaces import Lab, linear_to_srgb
from tests.core.photo_scenes import flat
from tests.core.test_regions import five_skeins, skeins

LAMP = np.array([1.0, 0.72, 0.42])


@pytest.fixture
def save(tmp_path):
    def save_photo(linear, name="yarns.png"):
        levels = np.rint(np.clip(linear_to_srgb(linear), 0, 1) * 255).astype(np.uint8)
        Image.fromarray(levels).save(tmp_path / name)
        return str(tmp_path / name)

    return save_photo


def measure(*args):
    out = StringIO()
    call_command("measure_photo", *args, stdout=out)
    return out.getvalue()


def test_the_five_skeins_of_a_photo_are_found_and_measured(save):
    answer = json.loads(measure(save(five_skeins()), "--paper", "0.95,0.1,0.99,0.9", "--json"))
    assert len(answer["yarns"]) == 5
    yarns = sorted(answer["yarns"], key=lambda yarn: yarn["box"][0])
    for yarn, skein in zip(yarns, skeins(), strict=True):
        truth = measure_yarn(skein, Box(0, 0, 1, 1))
        assert delta_e_2000(Lab(**yarn["lab"]), truth.lab) < 2
        assert yarn["dye_style"] == truth.dye_style


def test_white_paper_takes_the_lamp_out(save):
    plain = measure(save(five_skeins()), "--yarn", "0.05,0.3,0.15,0.7", "--json")
    lamp_lit = save(five_skeins() * LAMP)
    paper = ("--paper", "0.955,0.1,0.985,0.9")
    mended = measure(lamp_lit, *paper, "--yarn", "0.05,0.3,0.15,0.7", "--json")
    before, after = (Lab(**json.loads(text)["yarns"][0]["lab"]) for text in (plain, mended))
    assert delta_e_2000(before, after) < 4


def test_a_lamp_without_reference_is_refused_unless_vouched_for(save):
    lamp_lit = save(five_skeins() * LAMP)
    with pytest.raises(CommandError, match="leans orange") as refusal:
        measure(lamp_lit)
    assert refusal.value.returncode == 2
    assert "#" in measure(lamp_lit, "--trust-light")


@pytest.mark.parametrize(
    ("args", "sentence"),
    [
        (["--paper", "0.1,0.2"], "--paper is '0.1,0.2'; give left,top,right,bottom"),
        (["--yarn", "0.5,0,0.4,1"], "is not inside the photo"),
        # A script's unset variable: without its paper the photo would be read unbalanced.
        (["--paper", ""], "--paper is ''; give left,top,right,bottom"),
        (["--grey-card", ""], "--grey-card is ''; give left,top,right,bottom"),
        (["--count", "0"], "--count is '0'; give a whole number from 1 to 40"),
        # One digit more than CPython's limit for integers in text.
        (["--count", "9" * 4301], "give a whole number from 1 to 40"),
        (["--paper", "0,0,1,1", "--grey-card", "0,0,1,1"], "Give --paper or --grey-card, not both"),
    ],
)
def test_bad_input_is_one_sentence_and_exit_2(save, args, sentence):
    with pytest.raises(CommandError, match=sentence) as refusal:
        measure(save(flat((50, 0, 0), 80, 80)), *args)
    assert refusal.value.returncode == 2


def test_a_missing_file_is_named(tmp_path):
    with pytest.raises(CommandError, match=r"absent\.jpg cannot be read: No such file"):
        measure(str(tmp_path / "absent.jpg"))


def test_a_file_that_is_no_photo_is_refused(tmp_path):
    (tmp_path / "notes.txt").write_text("50 g blue")
    with pytest.raises(CommandError, match=r"notes\.txt: That file is not a photo"):
        measure(str(tmp_path / "notes.txt"))


def test_a_file_has_to_be_named():
    with pytest.raises(CommandError, match="Name a photo file") as refusal:
        measure()
    assert refusal.value.returncode == 2


def test_no_more_of_a_file_is_read_than_a_photo_may_have():
    """A device that never ends would fill the memory."""
    with pytest.raises(
        CommandError, match=r"/dev/zero: .* 26 MB and the limit is 25 MB"
    ) as refusal:
        measure("/dev/zero")
    assert refusal.value.returncode == 2


def test_a_file_that_is_too_large_is_told_by_its_own_size(tmp_path):
    with (tmp_path / "huge.jpg").open("wb") as file:
        file.truncate(300_000_000)
    with pytest.raises(CommandError, match="300 MB and the limit is 25 MB"):
        measure(str(tmp_path / "huge.jpg"))
