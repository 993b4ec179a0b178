"""Work for the task worker: the sweep that tells participants what has come out.

A sweep is due at the instant of each clue, and otherwise every minute: each sweep sees to it
that the next one is queued before it does anything that could fail. It reads what is out from
the rows themselves, so one that is lost, late or run twice does no harm.
"""

from dataclasses import asdict
from datetime import datetime, timedelta

from django.tasks import task
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from schedule.notices.sweep import sweep
from schedule.tidying import tidy_up

SWEEP_EVERY = timedelta(minutes=1)
TIDY_EVERY = timedelta(days=1)
# A worker that is told to stop finishes its task, so none should take long; our choice.
LONGEST_SWEEP = timedelta(seconds=10)
KEEP_RESULTS = timedelta(days=1)


@task
def sweep_notices() -> dict[str, int]:
    """Announce what has come out, mail what is due, and return the counts."""
    now = timezone.now()
    keep_watch(now)
    plan_tidying(now)
    forget_old_sweeps(now)
    tally = sweep(clock=timezone.now, until=now + LONGEST_SWEEP)
    if tally.go_on_at:
        sweep_at(tally.go_on_at)
    return tally.counts


def sweep_at(instant: datetime) -> None:
    """Queue a sweep for the instant, in the caller's transaction."""
    sweep_notices.using(run_after=instant).enqueue()


def keep_watch(now: datetime) -> None:
    """Queue the next sweep unless one is queued within the minute."""
    queued = DBTaskResult.objects.filter(
        task_path=sweep_notices.module_path, status="READY", run_after__lte=now + SWEEP_EVERY
    )
    if not queued.exists():
        sweep_at(now + SWEEP_EVERY)


@task
def tidy_files() -> dict[str, int]:
    """Remove files of no more use; what is left over waits for the next day."""
    return asdict(tidy_up(now=timezone.now()))


def plan_tidying(now: datetime) -> None:
    """Queue tomorrow's clean-up unless one is queued."""
    queued = DBTaskResult.objects.filter(task_path=tidy_files.module_path, status="READY")
    if not queued.exists():
        tidy_files.using(run_after=now + TIDY_EVERY).enqueue()


def forget_old_sweeps(now: datetime) -> None:
    """Drop the results of sweeps that went well a day ago; failures stay to be read."""
    DBTaskResult.objects.successful().filter(
        task_path=sweep_notices.module_path, finished_at__lt=now - KEEP_RESULTS
    ).delete()
