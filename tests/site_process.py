"""A site of its own, whose commands and servers run as real processes."""

import http.client
import json
import os
import secrets
import signal
import subprocess
import sys
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import urlencode, urlsplit

import psycopg
from django.db import connection

from tests.servers import ROOT, answers, free_port

PATIENCE = 120.0  # seconds for one command, on a busy machine
CSRF = "c" * 32


@contextmanager
def empty_database(folder: Path) -> Iterator[str]:
    """Yield the URL of an empty database of the kind that the suite runs on."""
    if connection.vendor == "sqlite":
        yield f"sqlite:///{folder / 'site.sqlite3'}"
        return
    name = f"site_{secrets.token_hex(6)}"
    url = urlsplit(os.environ["KAL_DATABASE_URL"])
    with psycopg.connect(url.geturl(), autocommit=True) as server:
        server.execute(f"CREATE DATABASE {name}")
        try:
            yield url._replace(path=f"/{name}").geturl()
        finally:
            server.execute(f"DROP DATABASE {name} WITH (FORCE)")


class Site:
    """A site in a folder of its own."""

    def __init__(self, folder: Path, database_url: str, mail_url: str = "console://") -> None:
        self.folder = folder
        self.environment = os.environ | {
            "KAL_DATA_DIR": str(folder),
            "KAL_DATABASE_URL": database_url,
            "KAL_EMAIL_URL": mail_url,
            "KAL_DEMO": "False",
        }

    def start(self, *command: str) -> "subprocess.Popen[bytes]":
        return self._open([sys.executable, "manage.py", *command])

    def run(self, *command: str) -> None:
        assert self.start(*command).wait(timeout=PATIENCE) == 0

    def shell(self, code: str) -> str:
        """Run Python code with the site's own Django and return what it prints."""
        command = [sys.executable, "manage.py", "shell", "--verbosity=0", "-c", code]
        done = subprocess.run(
            command, cwd=ROOT, env=self.environment, capture_output=True, text=True, check=False
        )
        assert done.returncode == 0, done.stderr
        return done.stdout

    @contextmanager
    def serving(self) -> Iterator["Web"]:
        web = Web(self)
        web.start()
        try:
            yield web
        finally:
            web.kill()

    def _open(self, command: list[str]) -> "subprocess.Popen[bytes]":
        return subprocess.Popen(
            command, cwd=ROOT, env=self.environment, stdout=subprocess.DEVNULL, stderr=2
        )


class Web:
    """The site's web server: a process that can be killed and started again."""

    def __init__(self, site: Site) -> None:
        self.site, self.port = site, free_port()
        self.process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        self.process = subprocess.Popen(
            [
                *(sys.executable, "-m", "gunicorn", "kal.wsgi", f"--bind=127.0.0.1:{self.port}"),
                *("--workers=1", "--threads=4", "--log-level=critical"),
            ],
            cwd=ROOT,
            env=self.site.environment,
            start_new_session=True,
        )
        give_up_at = time.monotonic() + PATIENCE
        # The master takes connections before it has a worker to answer them.
        while not (answers(self.port) and self.worker_pids()):
            assert self.process.poll() is None
            assert time.monotonic() < give_up_at
            time.sleep(0.05)

    def kill(self) -> None:
        """End the master and its worker at once, wherever they are (SIGKILL)."""
        assert self.process is not None
        os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait()

    def worker_pids(self) -> list[int]:
        assert self.process is not None
        children = Path(f"/proc/{self.process.pid}/task/{self.process.pid}/children")
        return [int(pid) for pid in children.read_text().split()]

    def ask(
        self, method: str, path: str, body: bytes | None = None, headers: Mapping[str, str] = {}
    ) -> tuple[int, bytes]:
        """Return status and body; an OSError or HTTPException when there is no whole answer."""
        client = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
        try:
            client.request(method, path, body, dict(headers))
            answer = client.getresponse()
            return answer.status, answer.read()
        finally:
            client.close()

    def post(self, path: str, session: str, fields: Mapping[str, str]) -> tuple[int, bytes]:
        body = urlencode({"csrfmiddlewaretoken": CSRF, **fields}).encode()
        kind = {"Content-Type": "application/x-www-form-urlencoded"}
        return self.ask("POST", path, body, kind | signed_in(session))


def signed_in(session: str) -> dict[str, str]:
    return {"Cookie": f"sessionid={session}; csrftoken={CSRF}", "X-CSRFToken": CSRF}


SESSIONS = """
import json
from django.conf import settings
from django.contrib.sessions.backends.db import SessionStore
from kal.models import User
def data_for(user):
    return {
        "_auth_user_id": str(user.pk),
        "_auth_user_backend": settings.AUTHENTICATION_BACKENDS[0],
        "_auth_user_hash": user.get_session_auth_hash(),
    }
def session_for(user):
    store = SessionStore()
    store.update(data_for(user))
    store.save()
    return store.session_key
"""


def sessions_of(site: Site) -> dict[str, str]:
    """Return a session for everybody on the site, by mail address."""
    code = f"{SESSIONS}\nprint(json.dumps({{u.email: session_for(u) for u in User.objects.all()}}))"
    return dict(json.loads(site.shell(code)))
