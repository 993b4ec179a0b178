from decimal import Decimal
from itertools import permutations

import pytest

from palettes.colour.audit import Finding, Severity, Verdict, audit
from palettes.colour.contrast import Grade
from palettes.colour.errors import TooFewYarns, TooManyYarns
from palettes.colour.finding import SEVERITIES
from palettes.colour.schemes import Scheme
from palettes.colour.swatch import Fabric, Need
from palettes.colour.vision import Deficiency
from tests.core.yarns import GOOD, dyed, grey


def codes(judged):
    return [finding.code for finding in judged.findings]


def found(judged, code) -> Finding:
    findings: list[Finding] = [finding for finding in judged.findings if finding.code == code]
    (finding,) = findings
    return finding


def number(finding, name) -> float:
    return float(finding.numbers[name])


def test_a_good_palette_is_ready():
    judged = audit(GOOD)
    assert judged.verdict is Verdict.READY
    assert {"full_ladder", "all_read"} <= set(codes(judged))
    assert {pair.grade for pair in judged.pairs} <= {Grade.STRONG, Grade.WORKABLE}
    assert judged.greys >= 4


@pytest.mark.parametrize("count", range(2, 9))
def test_two_to_eight_yarns(count):
    judged = audit([grey(10 + 80 * i / (count - 1)) for i in range(count)])
    assert len(judged.pairs) == count * (count - 1) // 2
    assert len(judged.ladder.order) == count
    assert [worst.kind for worst in judged.vision] == list(Deficiency)


def test_one_yarn_or_nine_are_refused():
    with pytest.raises(TooFewYarns, match=r"^1 yarn given; an audit compares at least 2\.$"):
        audit(GOOD[:1])
    with pytest.raises(TooFewYarns, match="0 yarns given"):
        audit([])
    with pytest.raises(TooManyYarns, match=r"^9 yarns given; a palette has at most 8\.$"):
        audit([grey(10 * i) for i in range(9)])


def test_pairs_come_closest_first_and_findings_worst_first():
    judged = audit([grey(30), grey(90), grey(32), grey(38)])
    assert judged.pairs[0].grade is Grade.LOST
    assert (judged.pairs[0].first, judged.pairs[0].second) == (0, 2)
    lefts = [pair.left for pair in judged.pairs]
    assert lefts == sorted(lefts)
    ranks = [SEVERITIES.index(finding.severity) for finding in judged.findings]
    assert ranks == sorted(ranks)


def test_a_lost_pair_is_a_problem_with_its_numbers():
    judged = audit([grey(30), grey(90), grey(32)])
    finding = found(judged, "pair_lost")
    assert finding.severity is Severity.PROBLEM
    assert finding.yarns == (0, 2)
    assert finding.numbers["delta_l"] == 2
    assert finding.numbers["left_at_arm"] == judged.pairs[0].left_at_arm
    assert judged.verdict is Verdict.RETHINK
    assert not {"all_read", "all_strong"} & set(codes(judged))


def test_a_close_pair_is_a_caution():
    judged = audit([grey(30), grey(60), grey(90), grey(66)])
    finding = found(judged, "pair_close")
    assert finding.severity is Severity.CAUTION
    assert finding.yarns == (1, 3)
    assert judged.verdict is Verdict.LOOK_AGAIN


def test_speckles_are_named_when_they_are_the_reason():
    calm = [grey(20), grey(50), grey(62), grey(90)]
    busy = [grey(20), grey(50, spread=9), grey(62, spread=9), grey(90)]
    assert "pair_hidden" not in codes(audit(calm))
    finding = found(audit(busy), "pair_hidden")
    assert finding.yarns == (1, 2)
    assert number(finding, "hidden") > 2


def test_many_failing_pairs_are_three_findings_and_a_count():
    judged = audit([grey(50 + i) for i in range(8)])
    assert codes(judged).count("pair_lost") == 3
    assert found(judged, "more_close_pairs").numbers == {"count": 25, "pairs": 28}


def test_equal_in_grey_and_far_in_hue_is_its_own_finding():
    red, green = dyed("#c0392b"), dyed("#3f7d4f")
    judged = audit([red, green, grey(95), grey(10)])
    finding = found(judged, "hue_only")
    assert finding.yarns == (0, 1)
    assert number(finding, "delta_l") < 10
    assert number(finding, "left_across_room") < number(finding, "left_in_hand") / 1.3


def test_a_pair_apart_in_lightness_too_is_not_hue_only():
    assert "hue_only" not in codes(audit([dyed("#c0392b"), dyed("#a9d8b0"), grey(10)]))
    assert "hue_only" not in codes(audit([grey(50), grey(55)]))


@pytest.mark.parametrize(
    ("lightnesses", "missing"),
    [
        ([20, 50, 80], []),
        ([20, 30, 50], ["no_light"]),
        ([20, 80, 95], ["no_medium"]),
        ([50, 80, 95], ["no_dark"]),
        ([45, 55, 60], ["no_light", "no_dark"]),
        ([80, 88, 95], ["no_dark"]),
        ([10, 20, 35], ["no_light"]),
        ([20, 80], []),
    ],
)
def test_missing_rungs(lightnesses, missing):
    found_codes = codes(audit([grey(value) for value in lightnesses]))
    assert sorted(code for code in found_codes if code in ("no_light", "no_medium", "no_dark")) == (
        sorted(missing)
    )


@pytest.mark.parametrize(
    ("lightnesses", "few"),
    [([50, 55], True), ([50, 60], False), ([50, 55, 62], True), ([40, 50, 60], False)],
)
def test_few_greys(lightnesses, few):
    assert ("few_greys" in codes(audit([grey(value) for value in lightnesses]))) is few


@pytest.mark.parametrize(
    ("spreads", "restless"),
    [
        ([9, 9, 9, 9, 9], True),
        ([9, 9, 9, 6, 6], True),
        ([9, 9, 6, 6, 6], False),
        ([9, 9, 9, 9, 2], False),
        ([0, 0, 0, 0, 0], False),
    ],
)
def test_busy_yarns_want_a_calm_one(spreads, restless):
    palette = [grey(15 + 18 * i, spread) for i, spread in enumerate(spreads)]
    judged = audit(palette)
    assert ("no_calm" in codes(judged)) is restless
    if restless:
        assert found(judged, "no_calm").numbers["busy"] == spreads.count(9)


def test_red_and_green_of_one_lightness_fail_without_green_cones():
    judged = audit([dyed("#b5533c"), dyed("#6f7d2f"), grey(92), grey(12)])
    finding = found(judged, "vision_deutan")
    assert finding.yarns == (0, 1)
    assert finding.severity in (Severity.CAUTION, Severity.NOTE)
    by_kind = {worst.kind: worst for worst in judged.vision}
    assert (by_kind[Deficiency.DEUTAN].first, by_kind[Deficiency.DEUTAN].second) == (0, 1)
    assert by_kind[Deficiency.DEUTAN].left == finding.numbers["left"]


def test_a_pair_that_fails_for_everybody_is_not_blamed_on_colour_vision():
    judged = audit([grey(50), grey(52), grey(90)])
    assert not [code for code in codes(judged) if code.startswith("vision_")]


def test_scheme_is_named():
    judged = audit([dyed("#0b2545"), dyed("#2f5d8a"), dyed("#8fb3d9")])
    assert judged.scheme.scheme is Scheme.MONOCHROMATIC
    assert found(judged, "scheme_monochromatic").severity is Severity.NOTE


def held(swatch_grams, balls):
    return {"put_up_grams": swatch_grams, "put_up_metres": swatch_grams * 4, "balls": balls}


def test_quantities_short_tight_unknown_and_enough():
    needs = [Need("A", 100, 400), Need("B", 100, 400), Need("C", 100, 400)]
    judged = audit(
        [grey(10, **held(50, 1)), grey(50, **held(51, 2)), grey(90, put_up_grams=50)], needs=needs
    )
    short = found(judged, "yarn_short")
    assert short.severity is Severity.PROBLEM
    assert short.yarns == (0,)
    assert short.numbers["balls"] == 1
    assert short.numbers["grams"] == 50
    assert found(judged, "yarn_tight").yarns == (1,)
    assert found(judged, "yarn_unknown").yarns == (2,)
    assert judged.quantities[0].grams_short == Decimal(50)
    assert "yarn_enough" not in codes(judged)
    plenty = audit([grey(20 + 30 * i, **held(50, 3)) for i in range(3)], needs=needs)
    assert "yarn_enough" in codes(plenty)
    assert "yarn_enough" not in codes(audit(GOOD))


def test_care_goes_by_the_most_delicate():
    machine, hand = (
        dyed(text, fibre="wool", care=care)
        for text, care in (("#f3efe6", "machine"), ("#1b2a3a", "hand"))
    )
    judged = audit([machine, hand])
    assert found(judged, "care_hand").yarns == (1,)
    assert found(judged, "felting").yarns == (1,)
    dry = dyed("#8a8f96", fibre="silk", care="dry")
    assert found(audit([machine, hand, dry]), "care_dry_clean").yarns == (2,)
    assert {"care_hand", "felting"}.isdisjoint(codes(audit([hand, hand])))


def test_wool_beside_machine_washed_linen_is_a_matter_of_washing_not_of_felting():
    linen = dyed("#f3efe6", fibre="linen", care="machine")
    judged = audit([linen, dyed("#1b2a3a", fibre="wool", care="hand")])
    assert "care_hand" in codes(judged)
    assert "felting" not in codes(judged)


def test_mixed_fibres_are_noted():
    wool, linen = dyed("#f3efe6", fibre="wool"), dyed("#1b2a3a", fibre="linen")
    assert found(audit([wool, linen]), "fibres_mixed").yarns == (0, 1)
    assert "fibres_mixed" not in codes(audit([wool, wool]))


def test_a_saturated_dark_beside_a_pale_is_worth_a_test():
    finding = found(audit([grey(95), dyed("#7a0f1c"), dyed("#14284b")]), "bleeding")
    assert finding.yarns == (1, 0)
    assert "bleeding" not in codes(audit([grey(60), dyed("#7a0f1c")]))
    assert "bleeding" not in codes(audit([grey(95), grey(10)]))


def test_row_height_matters():
    pair = [dyed("#b07a6a"), dyed("#8a8f6a")]
    fine, bulky = (audit(pair, fabric=Fabric(g, 2 * g)).pairs[0] for g in (40, 8))
    assert fine.left < bulky.left


def test_the_audit_of_a_palette_in_another_order_is_the_same():
    judged, turned = audit(GOOD), audit(GOOD[::-1])
    last = len(GOOD) - 1
    assert {(last - pair.second, last - pair.first) for pair in turned.pairs[:3]} == {
        (pair.first, pair.second) for pair in judged.pairs[:3]
    }
    assert sorted(codes(judged)) == sorted(codes(turned))


TROUBLED = [
    dyed("#b5533c", fibre="wool", care="hand"),
    dyed("#6f7d2f", 9.0, fibre="wool", care="machine"),
    dyed("#f3efe6", fibre="linen"),
    dyed("#7a0f1c", 8.0),
    dyed("#f0e7da", 8.0),
]


@pytest.mark.parametrize("palette", [GOOD, TROUBLED])
def test_permuting_a_palette_permutes_its_findings(palette):
    def by_name(judged, yarns):
        found_here = {
            (finding.code, frozenset(yarns[i].name for i in finding.yarns))
            for finding in judged.findings
        }
        grades = {
            frozenset((yarns[pair.first].name, yarns[pair.second].name)): pair.grade
            for pair in judged.pairs
        }
        return found_here, grades

    expected = by_name(audit(palette), palette)
    for order in permutations(palette):
        assert by_name(audit(order), order) == expected
