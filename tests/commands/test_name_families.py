"""`manage.py name_families` for people and for scripts."""

import io
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

MANAGE = Path(__file__).parent.parent.parent / "manage.py"


def run(*arguments: str, stdin: str = "") -> str:
    out = io.StringIO()
    call_command("name_families", *arguments, stdout=out, stdin=io.StringIO(stdin))
    return out.getvalue()


def run_from_shell(
    *arguments: str, stdin: bytes = b"", encoding: str = "utf-8"
) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(
        [sys.executable, MANAGE, "name_families", *arguments],
        input=stdin,
        env={**os.environ, "PYTHONIOENCODING": encoding},
        capture_output=True,
        check=False,
        timeout=60,
    )


def test_json_has_every_field():
    assert json.loads(run("8B4513", "--json")) == [
        {
            "hex": "#8b4513",
            "family": "brown",
            "families": ["brown"],
            "shade": "brown",
            "lightness": "dark",
            # CIELAB by colour-science 0.4.7, sRGB_to_XYZ and XYZ_to_Lab.
            "lab": {
                "l": pytest.approx(37.468, abs=0.01),
                "a": pytest.approx(26.445, abs=0.05),
                "b": pytest.approx(40.986, abs=0.05),
            },
        }
    ]


def test_text_is_one_line_a_colour_in_the_order_given():
    lines = run("#d2b48c", "fff", "000080").splitlines()
    assert [line.split()[0] for line in lines] == ["#d2b48c", "#ffffff", "#000080"]
    assert lines[0].split(maxsplit=1)[1] == "light brown     brown, near yellow"
    assert "light white" in lines[1]
    assert "dark blue" in lines[2]


def test_dash_reads_standard_input():
    named = json.loads(run("-", "--json", stdin="\ufeff#ff0000 00ff00\n\n0000ff\n"))
    assert [colour["family"] for colour in named] == ["red", "green", "blue"]


@pytest.mark.parametrize(
    ("arguments", "stdin", "message"),
    [
        (
            ["ff0000", "zebra"],
            "",
            "Colour 2: 'zebra' is not a colour; write it like '#7a4b2c'.",
        ),
        ([""], "", "Colour 1: '' is not a colour; write it like '#7a4b2c'."),
        (["ff0000", "-"], "", "Colour 2: '-' is not a colour; write it like '#7a4b2c'."),
        (
            ["-"],
            "ff0000\n\n12345\n",
            "Standard input, line 3: '12345' is not a colour; write it like '#7a4b2c'.",
        ),
        (["-"], " \n", "No colours on standard input; give some like 7a4b2c."),
        ([], "", "No colours on the command line; give some like 7a4b2c."),
    ],
)
def test_bad_input_is_one_line_saying_what_and_where(arguments, stdin, message):
    with pytest.raises(CommandError) as refusal:
        run(*arguments, stdin=stdin)
    assert str(refusal.value) == message
    assert refusal.value.returncode == 2


@pytest.mark.parametrize("stdin", [b"ff0000\n#ggg\n", b""])
def test_bad_input_from_the_shell_exits_2_and_prints_nothing(stdin):
    done = run_from_shell("-", "--json", stdin=stdin)
    assert done.returncode == 2
    assert done.stdout == b""
    assert len(done.stderr.decode().splitlines()) == 1


@pytest.mark.parametrize("encoding", ["utf-8:strict", "utf-8:surrogateescape"])
def test_input_that_is_not_text_is_refused_in_every_locale(encoding):
    done = run_from_shell("-", stdin=b"ff0000 \xff\xfe\n", encoding=encoding)
    assert done.returncode == 2
    assert done.stdout == b""
    assert len(done.stderr.decode().splitlines()) == 1
