"""`manage.py tidy_files`, and that the worker runs the same each day."""

import json

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.core.management import CommandError, call_command
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from schedule.tasks import plan_tidying, tidy_files

COUNTS = {"copies": 0, "parts": 0, "strays": 0, "erased": 0, "imports": 0, "is_more": False}


@pytest.fixture
def strays(db):
    for number in range(3):
        default_storage.save(f"stamped/gone/{number}-x", ContentFile(b"x"))


def test_it_says_what_it_removed(strays, capsys):
    call_command("tidy_files", "--most=2")
    assert capsys.readouterr().out == (
        "2 stale copies, 0 torn files and 0 files that nothing holds removed.\n"
        "There may be more: run it again.\n"
    )
    call_command("tidy_files", "--json")
    assert json.loads(capsys.readouterr().out) == COUNTS | {"copies": 1}


def test_nothing_is_removed_for_a_number_that_makes_no_sense(strays):
    with pytest.raises(CommandError, match="whole number from 1 up") as refused:
        call_command("tidy_files", "--most=0")
    assert refused.value.returncode == 2
    assert len(default_storage.listdir("stamped/gone")[1]) == 3


def test_the_worker_tidies_once_a_day(strays):
    now = timezone.now()
    for _ in range(2):
        plan_tidying(now)
    queued = DBTaskResult.objects.get(task_path=tidy_files.module_path)
    assert (queued.run_after - now).days == 1
    assert tidy_files.call() == COUNTS | {"copies": 3}
