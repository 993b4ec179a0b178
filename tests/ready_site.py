"""A site whose commands start at once: each is a process forked off one that has loaded the site.

Starting fifty workers from nothing takes longer than all that they do. What is loaded beforehand
is code alone: each process opens its own database and mail connections.
"""

import json
import os
import select
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from tests.servers import ROOT
from tests.site_process import PATIENCE, Site

LOADER = """
import json, os, sys
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "kal.settings")
import django
from django.core.management import execute_from_command_line
django.setup()
import kal.urls
import django_tasks_db.management.commands.db_worker, schedule.notices.sweep
while line := sys.stdin.readline():
    out, *command = json.loads(line)
    pid = os.fork()
    if pid:
        print(pid, flush=True)
        continue
    code = 1
    try:
        sys.stdin.close()
        sys.stdout = open(out, "w")
        execute_from_command_line(["manage.py", *command])
        sys.stdout.close()
        code = 0
    finally:
        os._exit(code)
"""


@dataclass(frozen=True)
class Forked:
    """A running command, known by a descriptor: its number may be another process's later."""

    descriptor: int

    @property
    def is_running(self) -> bool:
        return not self._ended(within=0)

    def kill(self) -> None:
        """End it at once, wherever it is (SIGKILL)."""
        if self.is_running:
            signal.pidfd_send_signal(self.descriptor, signal.SIGKILL)
        self.wait()

    def wait(self) -> None:
        assert self._ended(within=PATIENCE)
        os.close(self.descriptor)

    def _ended(self, *, within: float) -> bool:
        return bool(select.select([self.descriptor], [], [], within)[0])


class ReadySite:
    """Starts commands of a site out of a process that has loaded it."""

    def __init__(self, site: Site, loader: "subprocess.Popen[str]") -> None:
        self._out = site.folder / "printed.txt"
        self._loader = loader

    def start(self, *command: str) -> Forked:
        assert self._loader.stdin is not None
        assert self._loader.stdout is not None
        self._loader.stdin.write(json.dumps([str(self._out), *command]) + "\n")
        self._loader.stdin.flush()
        return Forked(os.pidfd_open(int(self._loader.stdout.readline())))

    def shell(self, code: str) -> str:
        """Run Python code and return what it prints."""
        self._out.unlink(missing_ok=True)
        self.start("shell", "--verbosity=0", "-c", code).wait()
        return self._out.read_text()


@contextmanager
def ready(site: Site) -> Iterator[ReadySite]:
    loader = subprocess.Popen(
        [sys.executable, "-c", LOADER],
        cwd=ROOT,
        env=site.environment,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    try:
        yield ReadySite(site, loader)
    finally:
        loader.communicate()  # it ends where its input does
