"""Whatever the code imports is asked for in pyproject.toml, not only there by accident."""

import ast
import sys
import tomllib
from importlib.metadata import packages_distributions
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).resolve().parent.parent.parent
SITE = ("kal", "palettes", "schedule")
DEVELOPMENT = ("tests", "benchmarks", "tools")
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text())


def imported_by(folders):
    """Return the top-level names that the folders import from outside the project."""
    names = set()
    for folder in folders:
        for path in (ROOT / folder).rglob("*.py"):
            for node in ast.walk(ast.parse(path.read_text())):
                if isinstance(node, ast.Import):
                    names |= {alias.name.partition(".")[0] for alias in node.names}
                elif isinstance(node, ast.ImportFrom) and node.level == 0 and node.module:
                    names.add(node.module.partition(".")[0])
    return names - set(sys.stdlib_module_names) - set(SITE) - set(DEVELOPMENT)


def declared(*lists):
    return {canonicalize_name(Requirement(text).name) for items in lists for text in items}


@pytest.mark.parametrize(
    ("folders", "asked_for"),
    [
        (SITE, declared(PROJECT["project"]["dependencies"])),
        (
            DEVELOPMENT,
            declared(PROJECT["project"]["dependencies"], PROJECT["dependency-groups"]["dev"]),
        ),
    ],
    ids=["site", "development"],
)
def test_imports_are_asked_for_by_name(folders, asked_for):
    homes = packages_distributions()
    unasked = {
        name
        for name in imported_by(folders)
        if not asked_for & {canonicalize_name(home) for home in homes.get(name, [])}
    }
    assert unasked == set()
