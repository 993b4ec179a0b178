"""`manage.py plan_letters` for people and for scripts."""

import io
import json
from typing import Any

import pytest
from django.core.management import CommandError, call_command

YARNS: list[dict[str, Any]] = [
    {"name": "Moss", "hex": "#6b7a2f"},
    {"name": "Fern", "hex": "5f7a3a", "dye_style": "tonal"},
    {"name": "Chalk", "hex": "#f2efe6", "spread": 1.5},
]
MEETINGS = [{"letters": "AB", "needs": "strong"}, {"letters": "CA", "needs": "workable"}]
QUESTION = {"yarns": YARNS, "meetings": MEETINGS}


@pytest.fixture
def run(tmp_path):
    def run(question, *arguments):
        file = tmp_path / "letters.json"
        text = question if isinstance(question, str) else json.dumps(question)
        file.write_text(text, encoding="utf-8")
        out = io.StringIO()
        call_command("plan_letters", str(file), *arguments, stdout=out)
        return out.getvalue()

    return run


def test_json_has_best_runner_up_and_margins(run):
    result = json.loads(run(QUESTION, "--json"))
    assert result["best"]["letters"] == {"A": "Chalk", "B": "Moss", "C": "Fern"}
    assert result["best"]["reads"] is True
    assert result["runner_up"]["letters"] == {"A": "Chalk", "B": "Fern", "C": "Moss"}
    assert result["runner_up"]["worst_margin"] <= result["best"]["worst_margin"]
    assert result["equally_good"] == 1
    first, second = result["best"]["meetings"]
    assert (first["letters"], first["yarns"], first["needs"]) == ("AB", ["Chalk", "Moss"], "strong")
    assert (second["letters"], second["yarns"]) == ("AC", ["Chalk", "Fern"])
    assert first["margin"] == pytest.approx(first["left"] - 18)


def test_text_says_which_yarn_is_which_and_what_reads(run):
    text = run(QUESTION)
    assert "  A  Chalk" in text
    assert "A with B: reads; strong is needed, it is strong, margin +" in text
    assert "Runner-up" in text


def test_fixed_letters_fewer_letters_and_gauge_are_honoured(run):
    question = {
        "yarns": YARNS,
        "meetings": MEETINGS[:1],
        "letters": 2,
        "fixed": {"B": "Chalk"},
        "gauge": {"rows": 20, "stitches": 10},
    }
    result = json.loads(run(question, "--json"))
    assert result["best"]["letters"]["B"] == "Chalk"
    assert set(result["best"]["letters"]) == {"A", "B"}
    fine = json.loads(run({**question, "gauge": {"rows": 80}}, "--json"))
    assert fine["best"]["worst_margin"] < result["best"]["worst_margin"]


def changed(**changes):
    return {**QUESTION, **changes}


def with_yarn(**changes):
    return changed(yarns=[{**YARNS[0], **changes}, *YARNS[1:]])


def with_meeting(**changes):
    return changed(meetings=[{**MEETINGS[0], **changes}])


@pytest.mark.parametrize(
    ("question", "message"),
    [
        ("", "line 1, column 1: not JSON (Expecting value)."),
        ('{"yarns": [],\n}', "not JSON ("),
        ('{"yarns": 1, "yarns": 2}', "'yarns' is said twice in one object."),
        ("[" * 100_000, "nested too deep."),
        ('{"letters": ' + "1" * 5000 + "}", "a number in it of more digits than can be read."),
        ([], "the file must be an object."),
        ({"yarns": YARNS}, "there are no 'meetings'."),
        ({"meetings": []}, "there are no 'yarns'."),
        (changed(colour=1), "the file: 'colour' is unknown; use yarns, meetings, letters, fixed"),
        (changed(yarns="Moss"), "yarns must be a list."),
        (changed(yarns=YARNS * 3), "yarns: 9 given; at most 8."),
        (changed(yarns=[*YARNS, YARNS[0]]), "yarns[3]: 'Moss' is there already; give each its"),
        (changed(yarns=YARNS[:1]), "1 letter; a plan is for 2 to 8."),
        (with_yarn(hex="zebra"), "yarns[0]: 'zebra' is not a colour; write it like '#7a4b2c'."),
        (with_yarn(hex=7), "yarns[0].hex must be text."),
        (with_yarn(name=" "), "yarns[0]: the yarn has no name."),
        (with_yarn(spread="wide"), "yarns[0].spread is 'wide'; give a number."),
        (with_yarn(spread=True), "yarns[0].spread is True; give a number."),
        (with_yarn(spread=-1), "yarns[0]: Moss: spread is -1; it must be 0 to 100."),
        (with_yarn(dye_style="tie"), "yarns[0].dye_style is 'tie'; give one of solid, semi-solid"),
        (with_yarn(dye_style={}), "yarns[0].dye_style is {}; give one of solid, semi-solid"),
        (with_yarn(name="a\nb"), "yarns[0]: 'a\\nb' has a sign in it that cannot be printed."),
        (with_yarn(name="\ud800"), "yarns[0]: '\\ud800' has a sign in it that cannot be printed."),
        (
            with_yarn(size=3),
            "yarns[0]: 'size' is unknown; use name, hex, spread, dye_style, balls,",
        ),
        (changed(yarns=[{"name": "Moss"}, *YARNS[1:]]), "yarns[0]: there is no 'hex'."),
        (with_meeting(letters="ABC"), "meetings[0].letters is 'ABC'; give two letters, such as"),
        (with_meeting(letters="AA"), "meetings[0]: A cannot meet itself; name two letters."),
        (with_meeting(letters="AZ"), "meetings[0]: 'Z' is not a letter of a palette; use A to H."),
        (with_meeting(letters="AD"), "A-D meet, but the last letter is C."),
        (with_meeting(needs="lost"), "meetings[0].needs is 'lost'; give one of strong, workable"),
        (changed(meetings=MEETINGS * 99), "meetings: 198 given; at most 192."),
        (
            changed(letters=2, meetings=[], needs={"C": {"grams": 1, "metres": 1}}),
            "needs.C: the letters are A to B.",
        ),
        (changed(letters=4), "3 yarns given for 4 letters; each needs its own."),
        (changed(letters="three"), "letters is 'three'; give how many there are, such as 5."),
        (changed(fixed={"A": "Plum"}), "fixed.A is 'Plum', which is not among the yarns."),
        (changed(fixed={"A": ["Moss"]}), "fixed.A is ['Moss'], which is not among the yarns."),
        (changed(fixed={"Q": "Moss"}), "'Q' is fixed, but the letters are A to C."),
        (changed(fixed={"A": "Moss", "B": "Moss"}), "Two letters are fixed to the same yarn"),
        (changed(gauge={"rows": 0}), "0 rows to 10 cm is not a gauge;"),
        (changed(gauge={"rows": 10**400}), "gauge.rows is too large a number."),
        (changed(gauge={"rows": "many"}), "gauge.rows is 'many'; give a number."),
        ('{"yarns": [], "meetings": [], "gauge": {"rows": NaN}}', "nan rows to 10 cm is not a"),
    ],
)
def test_bad_input_is_one_line_saying_what_and_where(run, question, message):
    with pytest.raises(CommandError) as refusal:
        run(question)
    assert message in str(refusal.value)
    assert len(str(refusal.value).splitlines()) == 1
    assert refusal.value.returncode == 2


def test_standard_input_is_called_by_its_name(monkeypatch):
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(b"[]")))
    with pytest.raises(CommandError, match="Standard input: the file must be an object"):
        call_command("plan_letters", "-")


def test_a_file_has_to_be_named():
    with pytest.raises(CommandError, match="Name a JSON file, or - for standard input") as refusal:
        call_command("plan_letters")
    assert refusal.value.returncode == 2


def test_dash_reads_standard_input(run, monkeypatch):
    text = json.dumps(QUESTION)
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(text.encode())))
    out = io.StringIO()
    call_command("plan_letters", "-", stdout=out)
    assert out.getvalue() == run(text)


def test_amounts_move_a_letter_and_what_is_short_is_told(run):
    """Moss and Chalk would be A and B by the file's order; A takes more Moss than there is."""
    bought = {"grams": 50, "metres": 200}
    yarns = [{**YARNS[0], **bought, "balls": 1}, {**YARNS[2], **bought, "balls": 2}]
    needs = {"A": {"grams": 80, "metres": 320}}
    question = {"yarns": yarns, "meetings": MEETINGS[:1], "needs": needs}
    result = json.loads(run(question, "--json"))
    assert result["best"]["letters"] == {"A": "Chalk", "B": "Moss"}
    assert result["best"]["short"] == []
    assert result["runner_up"]["short"] == [
        {"letter": "A", "yarn": "Moss", "grams": 30.0, "metres": 120.0, "balls": 1}
    ]
    assert "  A  Moss is 30 g and 120 m short: 1 ball more" in run(question)


def test_noise_of_a_sum_of_floats_is_no_shortage(run):
    """Three balls of 0.1 g are the 0.1 + 0.2 g needed, which IEEE 754 makes 4e-17 g more."""
    yarns = [{**yarn, "grams": 0.1, "metres": 100, "balls": 3} for yarn in YARNS]
    needs = {"A": {"grams": 0.1 + 0.2, "metres": 1}}
    result = json.loads(run(changed(yarns=yarns, needs=needs), "--json"))
    assert result["best"]["short"] == []


@pytest.mark.parametrize(
    ("question", "message"),
    [
        (changed(needs={"Z": {}}), "needs.Z: there is no such letter; use A to H."),
        (changed(needs={"A": {"grams": 5}}), "needs.A: there is no 'metres'."),
        (changed(needs={"A": {"grams": 0, "metres": 5}}), "needs.A: Colour A needs 0 grams; it"),
        (with_yarn(balls=-1), "yarns[0]: Moss: -1 balls; it must be 0 or more."),
        (with_yarn(grams="much"), "yarns[0].grams is 'much'; give a number."),
    ],
)
def test_amounts_that_cannot_be_are_refused(run, question, message):
    with pytest.raises(CommandError) as refusal:
        run(question)
    assert message in str(refusal.value)
