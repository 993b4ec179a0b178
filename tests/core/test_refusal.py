"""What the pure packages refuse is one sentence in the language of whoever reads it."""

import numpy as np
import pytest
from django.utils import translation

from palettes.colour.light import Box, TooDark, balance_matrix
from palettes.translator import READERS_LANGUAGE
from schedule.clock_words import skipped_note
from schedule.pattern.calendar import to_release
from schedule.pattern.consistency import find_problems
from schedule.pattern.errors import BadCount, MoreLeftThanBought
from schedule.pattern.stitches import CastOn, Section, StitchRepeat
from schedule.pattern.weigh_in import WeighIn, read_weigh_ins
from tests.core.test_calendar import GAPS, local


def test_a_refusal_has_a_name_its_numbers_and_words_in_two_languages():
    with pytest.raises(TooDark) as refused:
        balance_matrix(np.full((20, 20, 3), 0.05), Box(0, 0, 1, 1))
    refusal = refused.value
    assert (refusal.name, refusal.about) == ("paper-dark", {"share": 5})
    assert str(refusal) == refusal.words()
    assert str(refusal).startswith("The white paper comes out at 5 % of full light")
    with translation.override("de"):
        assert refusal.words(READERS_LANGUAGE).startswith(
            "Das weiße Papier hat nur 5 % des vollen Lichts"
        )


def test_amounts_have_the_readers_decimal_mark():
    with pytest.raises(MoreLeftThanBought) as refused:
        read_weigh_ins([WeighIn("A", 20, 120.5, 100)], {"A": 80}, {})
    with translation.override("de"):
        words = refused.value.words(READERS_LANGUAGE)
    assert words.startswith("120,5 g von A übrig, aber 100 g gekauft.")


def test_counts_are_refused_and_contradicted_in_the_readers_language():
    with pytest.raises(BadCount) as refused:
        Section("Spitze", 5, 4, changes=(-2,))
    lace = Section("Muster", 31, 4, repeat=StitchRepeat(12, edge=3))
    with translation.override("de"):
        assert refused.value.words(READERS_LANGUAGE) == (
            "Spitze: Nach Reihe 3 blieben -1 Maschen übrig."
        )
        assert [
            each.words(READERS_LANGUAGE) for each in find_problems([CastOn("Rand", 9), lace])
        ] == [
            "Rand endet mit 9 Maschen, aber Muster beginnt mit 31.",
            "Muster hat in Reihe 1 31 Maschen, und das ist kein Vielfaches von 12 plus 3; "
            "27 oder 39 wären eines.",
        ]


@pytest.mark.parametrize(("zone", "asked", "moved", "_instant"), GAPS)
def test_a_skipped_wall_time_is_told_with_both_times(zone, asked, moved, _instant):
    note = skipped_note(to_release(local(asked), zone))
    assert note.startswith(f"The clocks skip {local(asked):%H:%M} on {local(asked).day} ")
    assert f"it is {local(moved):%H:%M} on {local(moved).day} " in note
