"""The scripts behind `make`: finding a Python, and the lock files' own check."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent.parent
LOCKS = ("requirements.lock", "requirements-dev.lock")


@pytest.fixture
def path_with(tmp_path):
    """Return a function that makes a PATH whose only Pythons are those named."""

    def make(**versions):
        for name, version in versions.items():
            # Answers as a real one does: its version, then its path if it is new enough.
            script = tmp_path / name.replace("_", ".")
            path = script if tuple(map(int, version.split("."))) >= (3, 12) else ""
            script.write_text(
                f'#!/bin/sh\ncase "$2" in *\\[:3\\]*) echo {version};; *) echo {path};; esac\n'
            )
            script.chmod(0o755)
        return str(tmp_path)

    return make


def find_python(path, **environment):
    return subprocess.run(
        ["/bin/sh", ROOT / "tools" / "find_python"],
        env={"PATH": path, **environment},
        capture_output=True,
        text=True,
        check=False,
    )


def test_the_developed_version_comes_first(path_with):
    path = path_with(python3="3.12.4", python3_13="3.13.1")
    assert find_python(path).stdout.strip() == f"{path}/python3.13"


def test_a_newer_version_than_any_known_will_do(path_with):
    path = path_with(python3="3.17.0")
    assert find_python(path).stdout.strip() == f"{path}/python3"


def test_a_too_old_python_gets_one_line_that_says_what_would_do(path_with):
    found = find_python(path_with(python3="3.11.9"))
    assert found.returncode == 1
    assert found.stdout == ""
    assert found.stderr == (
        "Python 3.12 or newer is needed, and this machine offers Python 3.11.9 (python3): "
        "install one, or name it, as in 'make demo PYTHON=/path/to/python3.12'.\n"
    )


def test_no_python_at_all_gets_one_line_too(path_with):
    found = find_python(path_with())
    assert found.returncode == 1
    assert "offers no Python" in found.stderr
    assert found.stderr.count("\n") == 1


def test_a_named_python_is_the_only_one_tried(path_with):
    path = path_with(python3="3.11.9", python3_13="3.13.1")
    found = find_python(path, PYTHON=f"{path}/python3")
    assert found.returncode == 1
    assert "3.11.9" in found.stderr


@pytest.mark.parametrize("name", LOCKS)
def test_every_locked_package_has_a_hash_and_no_address(name):
    text = (ROOT / name).read_text()
    entries = re.split(r"\n(?=\S)", text.strip())
    assert len(entries) > 10
    assert [entry for entry in entries if "--hash=sha256:" not in entry] == []
    assert "://" not in text


def test_the_lock_files_answer_the_project_file():
    checked = subprocess.run(
        [sys.executable, ROOT / "tools" / "check_lock.py"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert (checked.returncode, checked.stderr) == (0, "")
