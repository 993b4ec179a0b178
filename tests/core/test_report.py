import json

from palettes.colour.audit import audit
from palettes.colour.report import report
from palettes.colour.spaces import Lab
from palettes.colour.swatch import Need, Swatch
from tests.core.yarns import GOOD, grey


def test_everything_is_plain_json():
    spares = [grey(90)]
    palette = [
        grey(20, put_up_grams=50, put_up_metres=200, balls=1.5),
        grey(50),
        grey(52),
    ]
    needs = [Need("A", 100, 400), Need("B", 50, 200)]
    result = report(audit(palette, needs=needs, spares=spares), palette, spares)
    assert json.loads(json.dumps(result, allow_nan=False)) == result
    assert result["verdict"] == "rethink"
    assert result["swap"]["in"] == "grey 90"
    assert result["quantities"][0] == {
        "letter": "A",
        "yarn": "grey 20",
        "grams_needed": 100,
        "metres_needed": 400,
        "grams_held": 75,
        "metres_held": 300,
        "balls_needed": 2,
        "balls_held": 1.5,
        "balls_short": 1,
    }
    assert result["quantities"][1]["balls_short"] is None


def test_yarns_pairs_and_findings_have_the_documented_keys():
    result = report(audit(GOOD), GOOD)
    white = result["yarns"][0]
    assert white["hex"] == "#f3efe6"
    assert set(white["lab"]) == {"l", "a", "b"}
    assert (white["lightness"], white["family"]) == ("light", "neutral")
    pair = result["pairs"][0]
    assert {"first", "second", "positions", "delta_l", "delta_e_2000", "grade"} <= set(pair)
    finding = result["findings"][0]
    assert set(finding) == {
        "code", "severity", "yarns", "numbers", "what", "why", "try", "taste",
    }  # fmt: skip
    assert result["summary"] == "This palette works."
    assert result["swap"] is None


def test_two_yarns_of_one_name_are_told_apart_by_position():
    palette = [Swatch("Fog", Lab(20, 0, 0)), Swatch("Fog", Lab(80, 0, 0))]
    (pair,) = report(audit(palette), palette)["pairs"]
    assert (pair["first"], pair["second"], pair["positions"]) == ("Fog", "Fog", [0, 1])
