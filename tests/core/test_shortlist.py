"""The shortlist: what each aim prefers, what is kept, and what is refused."""

import pytest

from palettes.colour.contrast import Grade
from palettes.colour.errors import BadShortlist, TooFewYarns, TooManyYarns
from palettes.colour.shortlist import ANSWERS, Aim, most_accents, shortlist
from palettes.colour.shortlist_wording import AIMS, TEMPLATES, say
from palettes.colour.spaces import hex_to_lab
from palettes.colour.swatch import Swatch

STASH = [
    Swatch(name, hex_to_lab(hex_colour))
    for name, hex_colour in [
        ("Chalk", "#f2efe6"),
        ("Ash", "#a5a39e"),
        ("Soot", "#23201f"),
        ("Pine", "#16402a"),
        ("Fern", "#3f8d4a"),
        ("Mint", "#a8dcb4"),
        ("Rust", "#b8461a"),
        ("Sun", "#f2b705"),
        ("Ink", "#1b2f7a"),
        ("Mauve", "#9b8794"),
        ("Blush", "#d9b3a8"),
    ]
]
NAMES = [swatch.name for swatch in STASH]


def names_of(answer):
    return {NAMES[yarn] for yarn in answer.yarns}


def codes_of(answer):
    return [reason.code for reason in answer.reasons]


def test_one_family_finds_the_greens():
    best = shortlist(STASH, choose=3, aim=Aim.ONE_FAMILY)[0]
    assert names_of(best) in ({"Pine", "Fern", "Mint"}, {"Chalk", "Ash", "Soot"})
    assert "family_one" in codes_of(best)


def test_neutrals_with_accents_keeps_neutrals_in_the_majority():
    best = shortlist(STASH, choose=5, aim=Aim.ACCENTED_NEUTRALS)[0]
    assert {"Chalk", "Ash", "Soot"} <= names_of(best)
    assert "accents_few" in codes_of(best)


def test_vivid_yarns_without_a_neutral_are_no_neutrals_with_accents():
    """Four vivid yarns are no accents, however well they read beside each other."""
    neutrals = ("#d8d5cf", "#a5a39e", "#6f6c69")
    vivid = ("#f2c230", "#b8401a", "#1d2fa0", "#5cc46a")
    stash = [Swatch(colour, hex_to_lab(colour)) for colour in (*neutrals, *vivid)]
    best = shortlist(stash, choose=4, aim=Aim.ACCENTED_NEUTRALS)[0]
    assert {0, 1, 2} <= set(best.yarns)
    assert "accents_few" in codes_of(best)


def test_a_stash_of_dull_accents_alone_still_gets_every_set():
    stash = [Swatch(f"Moss {place}", hex_to_lab("#6b6a4f")) for place in range(6)]
    answers = shortlist(stash, choose=4, aim=Aim.ACCENTED_NEUTRALS)
    assert len(answers) == ANSWERS
    assert all(0 <= answer.score <= 1 for answer in answers)


def test_bold_and_soft_pull_apart():
    bold = shortlist(STASH, choose=4, aim=Aim.BOLD)[0]
    soft = shortlist(STASH, choose=4, aim=Aim.SOFT)[0]
    assert {"Rust", "Sun"} <= names_of(bold)
    assert not names_of(soft) & {"Rust", "Sun", "Ink"}
    assert "soft_all" in codes_of(soft)


def test_locked_yarns_are_in_every_answer():
    answers = shortlist(STASH, choose=4, locked=[9, 4])
    assert len(answers) == ANSWERS
    assert all({4, 9} <= set(answer.yarns) for answer in answers)


def test_answers_come_best_first_and_differ_in_two_yarns():
    answers = shortlist(STASH, choose=5)
    scores = [answer.score for answer in answers]
    assert scores == sorted(scores, reverse=True)
    sets = [set(answer.yarns) for answer in answers]
    assert all(len(one - two) >= 2 for one in sets for two in sets if one is not two)


def test_when_sets_two_apart_run_out_the_rest_are_one_apart():
    answers = shortlist(STASH[:6], choose=5)
    assert len({answer.yarns for answer in answers}) == 6


def test_locking_all_gives_the_one_set_there_is():
    (only,) = shortlist(STASH, choose=3, locked=[8, 2, 0])
    assert only.yarns == (0, 2, 8)


def test_equal_sets_keep_the_order_of_the_candidates():
    twins = [Swatch(str(i), hex_to_lab("#808080")) for i in range(5)]
    assert shortlist(twins, choose=2)[0].yarns == (0, 1)
    assert [answer.yarns for answer in shortlist(twins, choose=2)][:3] == [(0, 1), (0, 2), (0, 3)]


def test_a_speckled_yarn_counts_for_less():
    calm = [Swatch("a", hex_to_lab("#808080")), Swatch("b", hex_to_lab("#c0c0c0"))]
    busy = Swatch("b", hex_to_lab("#c0c0c0"), spread=12.0)
    (solid,) = shortlist(calm, choose=2)
    (speckled,) = shortlist([calm[0], busy], choose=2)
    assert speckled.score < solid.score


@pytest.mark.parametrize("aim", Aim)
def test_every_answer_says_why_in_words(aim):
    for answer in shortlist(STASH, choose=4, aim=aim):
        sentences = [say(reason, NAMES) for reason in answer.reasons]
        assert all(text.endswith(".") and "{" not in text for text in sentences)
        assert codes_of(answer)[0].startswith("closest_")


def test_answers_after_the_first_say_what_they_change():
    first, second, *_ = shortlist(STASH, choose=4)
    instead = second.reasons[-1]
    assert "instead" not in codes_of(first)
    assert set(first.yarns) - set(instead.instead_of) | set(instead.yarns) == set(second.yarns)


def test_every_code_and_aim_has_words():
    sources = ("closest_", "ladder_", "family_", "accents_", "soft_", "bold_", "instead")
    assert {f"closest_{grade}" for grade in Grade} <= set(TEMPLATES)
    assert all(code.startswith(sources) for code in TEMPLATES)
    assert set(AIMS) == set(Aim)


@pytest.mark.parametrize(("choose", "accents"), [(2, 1), (3, 1), (4, 1), (5, 2), (8, 3)])
def test_accents_stay_the_minority(choose, accents):
    assert most_accents(choose) == accents


@pytest.mark.parametrize(
    ("count", "choose", "locked", "error", "message"),
    [
        (4, 5, [], TooFewYarns, "4 candidates given; choosing 5 needs at least 5."),
        (41, 5, [], TooManyYarns, "41 candidates given; a shortlist takes up to 40."),
        (9, 9, [], BadShortlist, "Cannot choose 9; choose 2 to 8 yarns."),
        (9, 1, [], BadShortlist, "Cannot choose 1; choose 2 to 8 yarns."),
        (9, 3, [9], BadShortlist, r"Locked yarns \[9\] are not all among the 9 given."),
        (9, 3, [-1], BadShortlist, r"Locked yarns \[-1\] are not all among the 9 given."),
        (9, 3, [0, 1, 2, 3], BadShortlist, "4 yarns are locked; only 3 are chosen."),
    ],
)
def test_refuses_what_cannot_be_chosen(count, choose, locked, error, message):
    candidates = [Swatch(str(i), hex_to_lab("#808080")) for i in range(count)]
    with pytest.raises(error, match=message):
        shortlist(candidates, choose=choose, locked=locked)
