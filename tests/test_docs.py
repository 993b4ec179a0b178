"""README.md and DEVELOPERS.md say what is there: settings, commands, make targets and files."""

import ast
import re
from pathlib import Path

import pytest
from django.core.management import get_commands

ROOT = Path(__file__).resolve().parent.parent
APPS = {"kal", "palettes", "schedule"}
README = (ROOT / "README.md").read_text()
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text()
MAKEFILE = (ROOT / "Makefile").read_text()


def first_column(text, pattern):
    """Return what `pattern` captures at the start of each table row."""
    return set(re.findall(rf"^\| `{pattern}", text, flags=re.MULTILINE))


def settings_read():
    """Return the names, less KAL_, that kal/settings.py and its readers ask the environment for."""
    names = set()
    for path in ("kal/settings.py", "kal/env.py"):
        for node in ast.walk(ast.parse((ROOT / path).read_text())):
            if isinstance(node, ast.Call) and reads_environment(node.func) and node.args:
                names.add(getattr(node.args[0], "value", None))
    return {name for name in names if isinstance(name, str)}


def reads_environment(function):
    if isinstance(function, ast.Attribute):
        return isinstance(function.value, ast.Name) and function.value.id == "env"
    return isinstance(function, ast.Name) and function.id.startswith("read_")


def make_targets():
    return set(re.findall(r"^([a-z]+):.*## ", MAKEFILE, flags=re.MULTILINE))


def paths_named(text):
    """Return what looks like a path in backticks: with a slash, of ours, without placeholders."""
    named = re.findall(r"`([a-z.]+/[\w./-]*)`", text)
    return {path for path in named if not path.startswith(("data/", "docs."))}


def test_each_setting_has_a_line_and_each_line_a_setting():
    assert first_column(README, r"KAL_(\w+)`") == settings_read()


def test_each_command_has_a_line_and_each_line_a_command():
    ours = {name for name, app in get_commands().items() if app in APPS}
    assert first_column(README, r"([a-z_]+)[` ]") == ours


@pytest.mark.parametrize("text", [README, DEVELOPERS], ids=["README.md", "DEVELOPERS.md"])
def test_make_targets_named_exist(text):
    named = set(re.findall(r"(?:`|^    )make ([a-z]+)", text, flags=re.MULTILINE))
    assert named
    assert named <= make_targets()


def test_developers_are_told_of_every_make_target():
    assert make_targets() - {"help"} == first_column(DEVELOPERS, r"make ([a-z]+)")


@pytest.mark.parametrize("text", [README, DEVELOPERS], ids=["README.md", "DEVELOPERS.md"])
def test_files_named_exist(text):
    links = set(re.findall(r"\]\(([^):]+)\)", text))
    missing = [path for path in links | paths_named(text) if not (ROOT / path).exists()]
    assert missing == []


def test_every_phony_target_is_a_target_and_the_other_way_round():
    phony = re.search(r"^\.PHONY: (.*)$", MAKEFILE, flags=re.MULTILINE)
    assert phony is not None
    assert set(phony[1].split()) == make_targets()
