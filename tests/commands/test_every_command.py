"""What holds for every command of the project, whatever it does."""

import errno
import os
import sys
from subprocess import run as run_process

import pytest
from django.core.management import ManagementUtility, get_commands

from kal.management.refusing import refuse
from tests.builders import make_knit_along
from tests.servers import ROOT, free_port

OURS = sorted(
    name for name, app in get_commands().items() if app in {"kal", "palettes", "schedule"}
)


def run(capsys, *arguments):
    with pytest.raises(SystemExit) as ended:
        ManagementUtility(["manage.py", *arguments]).execute()
    return ended.value.code, capsys.readouterr()


def test_there_are_commands_to_try():
    assert {"audit_palette", "list_releases", "backup"} <= set(OURS)


@pytest.mark.parametrize("name", OURS)
def test_a_mistyped_option_gets_one_line(capsys, name):
    # Two words stand for each argument that is needed, so that only the option is amiss.
    code, (out, err) = run(capsys, name, "one", "two", "--jsno")
    assert (code, out) == (2, "")
    assert err.count("\n") == 1
    assert err.startswith("CommandError: unrecognized arguments: ")
    assert err.endswith(f"--jsno. Try: manage.py {name} --help\n")


def test_a_missing_argument_and_a_wrong_value_get_one_line(capsys):
    code, (out, err) = run(capsys, "list_releases")
    assert (code, out) == (2, "")
    assert err == (
        "CommandError: the following arguments are required: KNITALONG. "
        "Try: manage.py list_releases --help\n"
    )
    code, (out, err) = run(capsys, "audit_palette", "fff", "000", "--verbosity", "9")
    assert (code, out, err.count("\n")) == (2, "", 1)
    assert "-v/--verbosity: invalid choice: 9" in err


def test_signs_that_cannot_be_printed_are_escaped_in_a_refusal():
    """A line break in what was typed would make two lines; ECMA-48 signs would steer a terminal."""
    assert str(refuse("a\nb\x1b[31m\u2028c\udcff é")) == r"a\nb\x1b[31m\u2028c\udcff é"


LONG = "x" * 300  # POSIX: NAME_MAX is at most 255 on the file systems in use


@pytest.mark.parametrize(
    "arguments",
    [("backup", LONG), ("restore", LONG), ("export_knitalong", "harbour", LONG)],
    ids=lambda arguments: arguments[0],
)
@pytest.mark.django_db
def test_a_name_the_file_system_refuses_gets_one_line(tmp_path, monkeypatch, capsys, arguments):
    make_knit_along(slug="harbour")
    monkeypatch.chdir(tmp_path)
    code, (out, err) = run(capsys, *arguments)
    assert (code, out, err.count("\n")) == (2, "", 1)
    assert err.endswith(f"{os.strerror(errno.ENAMETOOLONG)}.\n")
    assert [path.name for path in tmp_path.iterdir() if path.name != "private"] == []


@pytest.mark.parametrize("arguments", [("backup",), ("export_knitalong", "harbour")])
@pytest.mark.django_db
def test_a_folder_that_takes_no_files_gets_one_line(capsys, arguments):
    """Nobody, root included, makes files in Linux's /proc (proc(5))."""
    make_knit_along(slug="harbour")
    code, (out, err) = run(capsys, *arguments, "/proc/all.zip")
    assert (code, out, err.count("\n")) == (2, "", 1)
    assert "/proc/" in err


@pytest.mark.django_db
def test_bytes_that_are_no_text_name_no_knit_along(capsys):
    """The system hands bytes that are not UTF-8 over as lone surrogates: PEP 383."""
    code, (out, err) = run(capsys, "list_releases", "harbour\udcff")
    assert (code, out) == (2, "")
    assert err.startswith(r"CommandError: No knit-along is called 'harbour\udcff'")


def test_help_still_tells_the_whole_usage(capsys):
    code, (out, _) = run(capsys, "audit_palette", "--help")
    assert code == 0
    assert "usage: manage.py audit_palette" in out
    assert "--spare" in out


def run_without_database(tmp_path, *arguments, **env):
    """Run a command on a site that has no database yet, or the one that `env` names."""
    kept = {name: value for name, value in os.environ.items() if name != "KAL_DATABASE_URL"}
    return run_process(
        [sys.executable, ROOT / "manage.py", *arguments],
        env=kept | {"KAL_DATA_DIR": str(tmp_path)} | env,
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.mark.parametrize(
    "arguments", [("list_releases", "harbour"), ("send_notices",), ("backup", "all.zip")]
)
def test_a_database_that_is_not_there_yet_gets_one_line(tmp_path, arguments):
    ended = run_without_database(tmp_path, *arguments)
    assert (ended.returncode, ended.stdout) == (1, "")
    assert ended.stderr.startswith("The database does not answer: no such table: ")
    assert ended.stderr.endswith(". See that it runs, then try: manage.py migrate\n")
    assert ended.stderr.count("\n") == 1
    assert not (tmp_path / "all.zip").exists()


def test_a_database_that_is_away_gets_one_line(tmp_path):
    url = f"postgres://nobody@127.0.0.1:{free_port()}/none"
    ended = run_without_database(tmp_path, "list_releases", "harbour", KAL_DATABASE_URL=url)
    assert (ended.returncode, ended.stdout) == (1, "")
    assert ended.stderr.startswith("The database does not answer: connection failed: ")
    assert ended.stderr.count("\n") == 1
