"""What holds for every command of the project, whatever it does."""

import pytest
from django.core.management import ManagementUtility, get_commands

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


def test_help_still_tells_the_whole_usage(capsys):
    code, (out, _) = run(capsys, "audit_palette", "--help")
    assert code == 0
    assert "usage: manage.py audit_palette" in out
    assert "--spare" in out
