import json

import pytest
from django.core.management import CommandError, call_command

GOOD = ["f3efe6", "#d9b26a", "8A8F96", "#7a3b2c", "1b2a3a"]


def run(capsys, *arguments):
    call_command("audit_palette", *arguments)
    return capsys.readouterr().out


def test_prints_the_verdict_the_pairs_and_the_findings(capsys):
    out = run(capsys, *GOOD)
    assert out.startswith("This palette works.\n")
    assert "#f3efe6  light   L*  94  white" in out
    assert out.count(" strong ") + out.count(" workable ") >= 10
    assert "There is a light, a medium and a dark." in out


def test_the_text_shows_the_number_that_pairs_are_graded_and_sorted_by(capsys):
    lines = run(capsys, *GOOD).splitlines()
    start = lines.index("pair               grade     contrast  difference  dL*") + 1
    result = json.loads(run(capsys, "--json", *GOOD))
    shown = [tuple(map(int, line.split()[3:])) for line in lines[start : start + 10]]
    assert shown == [
        tuple(int(pair[key]) for key in ("left", "delta_e_2000", "delta_l"))
        for pair in result["pairs"]
    ]


def test_prints_json_with_every_yarn_pair_and_finding(capsys):
    result = json.loads(run(capsys, "--json", *GOOD))
    assert [yarn["hex"] for yarn in result["yarns"]] == [
        "#f3efe6", "#d9b26a", "#8a8f96", "#7a3b2c", "#1b2a3a",
    ]  # fmt: skip
    assert len(result["pairs"]) == 10
    assert {"code", "severity", "what", "why", "try"} <= set(result["findings"][0])


def test_spares_and_gauge_are_heard(capsys):
    result = json.loads(run(capsys, "--json", "202020", "808080", "848484", "--spare", "f0f0f0"))
    assert result["swap"]["in"] == "#f0f0f0"
    fine = json.loads(run(capsys, "--json", "b07a6a", "8a8f6a", "--rows", "80"))
    bulky = json.loads(run(capsys, "--json", "b07a6a", "8a8f6a", "--rows", "16"))
    assert fine["pairs"][0]["left"] < bulky["pairs"][0]["left"]


def test_distances_are_told_in_feet_on_request(capsys):
    close = ["ffe4e1", "e6e6fa", "1b1b20"]
    assert "across a room (3 m);" in run(capsys, *close)
    assert "across a room (10 ft);" in run(capsys, "--imperial", *close)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["f3efe6", "mauve"], "Colour 2: 'mauve' is not a colour; write it like '#7a4b2c'."),
        (["f3efe6", "000", "--spare", "12"], "Spare 1: '12' is not a colour"),
        (["f3efe6"], "1 yarn given; an audit compares at least 2."),
        ([], "0 yarns given; an audit compares at least 2."),
        (["111"] * 9, "9 yarns given; a palette has at most 8."),
        (["111", "eee", "--rows", "0"], "0 rows to 10 cm is not a gauge"),
        (["111", "eee", "--stitches", "many"], "--stitches is 'many'; give a number, such as 40."),
    ],
)
def test_bad_input_is_one_clear_line_and_code_2(capsys, arguments, message):
    with pytest.raises(CommandError) as refusal:
        run(capsys, *arguments)
    assert str(refusal.value).startswith(message)
    assert "\n" not in str(refusal.value)
    assert refusal.value.returncode == 2
    assert capsys.readouterr().out == ""
