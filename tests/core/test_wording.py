import itertools
import re
import string
from typing import Any

import pytest

from palettes.colour import wording
from palettes.colour.audit import Verdict, audit
from palettes.colour.contrast import Grade
from palettes.colour.finding import Finding, Severity
from palettes.colour.phrases import Plural, Translator, fill, join_names
from palettes.colour.schemes import Scheme
from palettes.colour.sentences import TEMPLATES
from palettes.colour.swatch import Need, Swatch
from palettes.colour.wording import describe
from tests.core.yarns import GOOD, dyed, grey


def held(grams, balls):
    return {"put_up_grams": grams, "put_up_metres": grams * 4, "balls": balls}


NEEDS = [Need("A", 100, 400), Need("B", 100, 400), Need("C", 100, 400)]
WHEEL = {
    "monochromatic": ["#0b2545", "#2f5d8a"],
    "analogous": ["#8c2f1b", "#c9782f", "#d9b23c"],
    "complementary": ["#e0c040", "#4a55b0"],
    "split_complementary": ["#be6c70", "#349378", "#0090b1"],
    "triadic": ["#be6c70", "#608f5c", "#3f8abf"],
    "two_hues": ["#c44536", "#3c8f4a"],
    "polychrome": ["#c44536", "#c9a227", "#3c8f4a", "#3a6fb0", "#8a4fa0"],
    "neutral": ["#222222", "#eeeeee"],
    "accented_neutral": ["#222222", "#eeeeee", "#888888", "#c44536"],
}
# Between them these palettes call for every code there is.
PALETTES: list[tuple[list[Swatch], dict[str, Any]]] = [
    ([grey(30), grey(90), grey(32)], {}),
    ([grey(30), grey(60), grey(90), grey(66)], {}),
    ([grey(20), grey(50, 9), grey(62, 9), grey(90)], {}),
    ([grey(50 + i) for i in range(8)], {}),
    ([dyed("#c0392b"), dyed("#3f7d4f"), grey(95), grey(10)], {}),
    ([grey(15 + 18 * i, 9) for i in range(5)], {}),
    ([grey(20), grey(80), grey(95)], {}),
    ([dyed("#b5533c"), dyed("#6f7d2f"), grey(92), grey(12)], {}),
    ([dyed("#c0392b"), dyed("#8e44ad")], {}),
    ([grey(10, **held(50, 1)), grey(50, **held(51, 2)), grey(90)], {"needs": NEEDS}),
    ([grey(20 + 30 * i, **held(50, 3)) for i in range(3)], {"needs": NEEDS}),
    (
        [dyed("#f3efe6", fibre="wool", care="machine"), dyed("#7a0f1c", fibre="wool", care="hand")],
        {},
    ),
    ([dyed("#f3efe6", fibre="silk", care="dry"), dyed("#1b2a3a", fibre="linen", care="hand")], {}),
    ([grey(20), grey(50), grey(52)], {"spares": [grey(90)]}),
    (GOOD, {}),
    ([grey(5), grey(95)], {}),
    *(([dyed(text) for text in hexes], {}) for hexes in WHEEL.values()),
]


def every_finding():
    for swatches, more in PALETTES:
        names = [swatch.name for swatch in (*swatches, *more.get("spares", ()))]
        for finding in audit(swatches, **more).findings:
            yield finding, names


def test_every_code_has_words_and_every_word_a_code():
    found = {finding.code for finding, _ in every_finding()}
    assert found == set(TEMPLATES)


def test_every_finding_fills_its_sentences():
    for finding, names in every_finding():
        words = describe(finding, names)
        for text in (words.what, words.why, words.try_this):
            assert text[0].isupper() or text[0] in "#0123456789", text
            assert text.endswith("."), text
            assert not re.search(r"[{}]|  | None|nan|\d\.\d{2}", text), text


def test_numbers_and_names_are_in_the_words():
    finding = next(
        f for f in audit([grey(30), grey(90), grey(32)]).findings if f.code == "pair_lost"
    )
    words = describe(finding, ["Fog", "Snow", "Slate"])
    assert words.what == "Fog and Slate lose each other."
    assert "differs by 2 of 100" in words.why
    assert not words.taste


def test_a_yarn_without_a_name_is_called_by_its_number():
    finding = Finding("pair_lost", Severity.PROBLEM, {"left_at_arm": 1, "delta_l": 2}, (0, 4))
    assert describe(finding, ["", "Snow"]).what == "Yarn 1 and yarn 5 lose each other."


def test_a_number_stays_on_its_side_of_the_bound():
    """8.97 is under 9 and must not be rounded into the bound it misses."""
    numbers = {"left": 8.97, "left_in_hand": 12.9}
    why = describe(Finding("pair_close", Severity.CAUTION, numbers, (0, 1)), ["A", "B"]).why
    assert why.startswith("A contrast of 8 lasts across a room (3 m); from 9 ")


def test_what_to_buy_is_rounded_up():
    numbers: dict[str, float | str] = {
        "letter": "B",
        "balls": 2,
        "grams": 50.2,
        "metres": 0.0,
        "grams_needed": 100.2,
        "metres_needed": 400.0,
    }
    words = describe(Finding("yarn_short", Severity.PROBLEM, numbers, (0,)), ["Fog"])
    assert words.what == "Not enough of Fog for colour B."
    assert words.why == "The pattern takes 100.2 g and 400 m; you are 51 g short."
    assert words.try_this == "Get 2 more balls, of the same dye lot if you can."


def test_amounts_can_be_said_in_ounces_and_yards():
    numbers: dict[str, float | str] = {
        "letter": "B",
        "balls": 1,
        "grams": 50.0,
        "metres": 183.0,
        "grams_needed": 100.0,
        "metres_needed": 365.76,
    }
    finding = Finding("yarn_short", Severity.PROBLEM, numbers, (0,))
    words = describe(finding, ["Fog"], imperial=True)
    # 100 g is 3.527 oz, 365.76 m is 400 yd; 50 g is 1.764 oz, 183 m is 200.1 yd.
    assert words.why == "The pattern takes 3.5 oz and 400 yd; you are 1.8 oz and 201 yd short."
    assert words.try_this.startswith("Get 1 more ball,")


def test_templates_are_translated_before_they_are_filled():
    asked = []

    def gettext(text):
        asked.append(text)
        return text.replace("lose each other", "gehen ineinander unter")

    numbers = {"left_at_arm": 1, "delta_l": 2}
    finding = Finding("pair_lost", Severity.PROBLEM, numbers, (0, 1))
    german = Translator(gettext, lambda one, many, count: one)
    words = describe(finding, ["Fog", "Slate"], german)
    assert words.what.endswith("Slate gehen ineinander unter.")
    assert "{first} and {second} lose each other." in asked


def test_what_is_counted_is_told_in_the_form_for_its_number():
    def what(code, numbers):
        return describe(Finding(code, Severity.CAUTION, numbers, (0,)), ["Fog"]).what

    assert what("more_close_pairs", {"count": 1, "pairs": 10}).startswith(
        "1 more of the 10 pairs is"
    )
    assert what("more_close_pairs", {"count": 4, "pairs": 9}).startswith(
        "4 more of the 9 pairs are"
    )
    assert what("few_greys", {"greys": 1, "yarns": 3}).endswith("show the 3 yarns as one grey.")


def test_a_language_may_have_three_forms():
    """Which form goes with a number is the translator's to say, as in every gettext catalogue."""

    def in_czech(one, many, number):
        return "{n} klubko" if number == 1 else "{n} klubka" if number < 5 else "{n} klubek"

    balls = Plural("{n} ball", "{n} balls", "n")
    told = [fill(balls, {"n": n}, Translator(str, in_czech)) for n in (1, 3, 7)]
    assert told == ["1 klubko", "3 klubka", "7 klubek"]


def test_distances_are_in_the_readers_units():
    finding = Finding("pair_close", Severity.CAUTION, {"left": 8, "left_in_hand": 12}, (0, 1))
    assert "across a room (3 m);" in describe(finding, ["A", "B"]).why
    assert "across a room (10 ft);" in describe(finding, ["A", "B"], imperial=True).why


def test_a_name_with_braces_is_only_a_name():
    numbers = {"left_at_arm": 1, "delta_l": 2}
    finding = Finding("pair_lost", Severity.PROBLEM, numbers, (0, 1))
    assert describe(finding, ["{x}", "%s"]).what == "{x} and %s lose each other."


@pytest.mark.parametrize("code", sorted(TEMPLATES))
def test_templates_use_only_plain_fields(code):
    phrases = [(p.one, p.many) if isinstance(p, Plural) else (p,) for p in TEMPLATES[code][:3]]
    for text in itertools.chain(*phrases):
        for _, field, form, conversion in string.Formatter().parse(text):
            assert field is None or re.fullmatch(r"[a-z_]+", field)
            assert not form
            assert conversion is None


def test_every_verdict_grade_and_scheme_has_a_phrase():
    assert set(wording.VERDICTS) == set(Verdict)
    assert set(wording.GRADES) == set(Grade)
    assert set(wording.SCHEMES) == set(Scheme)
    assert wording.summarise(audit(GOOD)) == "This palette works."


@pytest.mark.parametrize(
    ("names", "joined"),
    [([], ""), (["A"], "A"), (["A", "B"], "A and B"), (["A", "B", "C"], "A, B and C")],
)
def test_lists_of_names(names, joined):
    assert join_names(names) == joined
