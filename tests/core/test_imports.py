"""Arrows between the packages go one way, and the pure ones import next to nothing.

schedule -> palettes -> kal.models, kal.http; nobody imports kal's views, urls or settings but the
composing modules themselves.
"""

import ast
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent.parent
# Each pure package and the packages of ours that it may use: pure ones, down the arrows.
PURE = {
    "palettes/colour": ("palettes.colour",),
    "schedule/pattern": ("schedule.pattern", "palettes.colour"),
}
PURE_MAY_USE = {"numpy", "colormath", "scipy"}
# No clock and no disk in the pure packages, whatever the standard library offers.
IMPURE = {"time", "os", "io", "pathlib", "tempfile", "shutil", "socket", "sqlite3", "subprocess"}
# What the apps may use of the base app; views, urls and settings compose and are nobody's to use.
KAL_COMPOSES = {"kal.views", "kal.urls", "kal.settings", "kal.wsgi", "kal.asgi"}


def modules(folder: str) -> list[Path]:
    return sorted((ROOT / folder).rglob("*.py"))


def imported(path: Path) -> Iterator[str]:
    """Yield the dotted name of everything a module imports, at any depth of nesting."""
    package = path.relative_to(ROOT).parent.parts
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = package[: len(package) - node.level + 1] if node.level else ()
            module = ".".join((*base, *filter(None, [node.module])))
            yield module
            yield from (f"{module}.{alias.name}" for alias in node.names)


def belongs_to(name: str, package: str) -> bool:
    return name == package or name.startswith(f"{package}.")


@pytest.mark.parametrize(("folder", "ours"), PURE.items())
def test_pure_packages_import_only_numbers_and_each_other(folder, ours):
    for path in modules(folder):
        for name in imported(path):
            top = name.partition(".")[0]
            allowed = top in PURE_MAY_USE or (top in sys.stdlib_module_names and top not in IMPURE)
            pure = any(belongs_to(name, package) for package in ours)
            assert allowed or pure, f"{path.relative_to(ROOT)} imports {name}"


@pytest.mark.parametrize("folder", PURE)
def test_pure_packages_open_and_print_nothing(folder):
    for path in modules(folder):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            called = (
                node.func.id
                if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
                else ""
            )
            assert called not in {"open", "print", "input"}, path.relative_to(ROOT)


def test_the_base_of_the_colour_errors_is_never_raised():
    for path in modules("palettes/colour"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            raised = ast.unparse(node.exc) if isinstance(node, ast.Raise) and node.exc else ""
            assert not raised.startswith("ColourError"), path.relative_to(ROOT)


@pytest.mark.parametrize(
    ("folder", "never"),
    [
        ("palettes", {"schedule", *KAL_COMPOSES}),
        ("schedule", KAL_COMPOSES),
        ("kal/models", {"palettes", "schedule", *KAL_COMPOSES}),
    ],
)
def test_arrows_between_the_apps_go_one_way(folder, never):
    for path in modules(folder):
        for name in imported(path):
            broken = [package for package in never if belongs_to(name, package)]
            assert not broken, f"{path.relative_to(ROOT)} imports {name}"


def test_the_base_apps_http_types_know_neither_app():
    for name in imported(ROOT / "kal/http.py"):
        assert not belongs_to(name, "palettes")
        assert not belongs_to(name, "schedule")


def test_the_walk_sees_what_it_is_meant_to_see():
    """Guards the guard: relative, nested and aliased imports are all found."""
    names = set(imported(ROOT / "palettes/colour/stripes.py"))
    assert "numpy" in names
    assert "palettes.colour.fabric.texture_left" in names
    assert len(modules("palettes/colour")) > 10
    assert belongs_to("schedule.models", "schedule")
    assert not belongs_to("scheduler", "schedule")
