"""A site of real processes, as the guide sets one up: gunicorn, workers, nginx, and its servers."""

import json
import os
import re
import secrets
import ssl
import subprocess
import sys
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from http.cookiejar import CookieJar
from pathlib import Path
from urllib.parse import urlencode, urlsplit

import psycopg

from tests.servers import ROOT, answers, free_port, refuse, running, running_nginx
from tests.smtp_sink import Sink, running_sink

POSTGRES = os.environ.get("POSTGRES_URL", "postgres://postgres@127.0.0.1:5432/postgres")
REDIS = os.environ.get("REDIS_URL", "redis://127.0.0.1:6379/9")
METRICS_TOKEN = "a-token-that-only-this-test-knows"
COMMAND = [sys.executable, "manage.py"]


def need_server(url: str, default_port: int) -> None:
    """Skip the test unless something listens there; in CI it has to."""
    parts = urlsplit(url)
    if parts.hostname != "127.0.0.1" or not answers(parts.port or default_port):
        refuse(f"nothing answers at {parts.scheme}://{parts.hostname}:{parts.port}")


@contextmanager
def own_database() -> Iterator[str]:
    need_server(POSTGRES, 5432)
    name = f"site_{secrets.token_hex(6)}"
    with psycopg.connect(POSTGRES, autocommit=True) as server:
        server.execute(f"CREATE DATABASE {name}")
        try:
            yield urlsplit(POSTGRES)._replace(path=f"/{name}").geturl()
        finally:
            server.execute(f"DROP DATABASE {name} WITH (FORCE)")


@dataclass
class Site:
    """Where it answers, the mail it sent, and what it was started with."""

    url: str
    trust: ssl.SSLContext
    sink: Sink
    environment: dict[str, str]
    web: "subprocess.Popen[bytes]"
    log: Path

    def manage(self, *arguments: str) -> str:
        return manage(self.environment, *arguments)

    def lines(self) -> list[dict[str, object]]:
        """What the web processes logged so far."""
        written = self.log.read_text().splitlines()
        return [json.loads(line) for line in written if line.startswith("{")]


def manage(environment: dict[str, str], *arguments: str) -> str:
    done = subprocess.run(
        [*COMMAND, *arguments], cwd=ROOT, env=environment, capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


@contextmanager
def running_site(folder: Path, set_up: str) -> Iterator[Site]:
    """Run two web processes, two workers and nginx on PostgreSQL and Redis."""
    need_server(REDIS, 6379)
    with ExitStack() as stack:
        database, sink = stack.enter_context(own_database()), stack.enter_context(running_sink())
        web_port, front_port = free_port(), free_port()
        data = folder / "data"
        ours = {name: value for name, value in os.environ.items() if not name.startswith("KAL_")}
        environment = ours | {
            "KAL_BASE_URL": f"https://localhost:{front_port}",
            "KAL_ALLOWED_HOSTS": "localhost",
            "KAL_SECRET_KEY": secrets.token_hex(32),
            "KAL_DATA_DIR": str(data),
            "KAL_DATABASE_URL": database,
            "KAL_CACHE_URL": REDIS,
            "KAL_SESSIONS": "cache",
            "KAL_EMAIL_URL": f"smtp://127.0.0.1:{sink.port}",
            "KAL_PROXIES": "1",
            "KAL_NGINX_FILES": "/private/",
            "KAL_NGINX_SECRET": secrets.token_hex(32),
            "KAL_LOG": "json",
            "KAL_METRICS_TOKEN": METRICS_TOKEN,
            "WEB_CONCURRENCY": "2",
            "BIND": f"127.0.0.1:{web_port}",
        }
        manage(environment, "migrate", "--verbosity=0")
        manage(environment, "shell", "--verbosity=0", "-c", set_up)
        manage(environment, "send_notices", "--later")
        log = folder / "web.log"
        written = stack.enter_context(log.open("wb"))
        command = [sys.executable, "-m", "gunicorn", "--config", "deploy/gunicorn.conf.py"]
        web = stack.enter_context(
            running([*command, "kal.wsgi"], web_port, cwd=ROOT, env=environment, stderr=written)
        )
        for _ in range(2):
            errands = [*COMMAND, "db_worker", "--interval=0.2"]
            stack.enter_context(running(errands, None, cwd=ROOT, env=environment, stderr=written))
        front = stack.enter_context(
            running_nginx(
                folder / "nginx",
                site=web_port,
                files=data / "private",
                port=front_port,
                secret=environment["KAL_NGINX_SECRET"],
            )
        )
        yield Site(front.url, front.trust, sink, environment, web, log)


class Browser:
    """Keeps cookies, follows redirects and sends forms, as a browser without script does."""

    def __init__(self, site: Site) -> None:
        self.site = site
        self.opener = urllib.request.build_opener(
            urllib.request.HTTPSHandler(context=site.trust),
            urllib.request.HTTPCookieProcessor(CookieJar()),
        )
        self.page = b""
        self.address = ""

    def open(self, path: str, body: bytes | None = None, **headers: str) -> bytes:
        """Return the page, which must not be an error."""
        status = self.ask(path, body, **headers)
        assert status < 400, (status, path, self.page.decode())
        return self.page

    def ask(self, path: str, body: bytes | None = None, **headers: str) -> int:
        """Open a page, be it an error, and return its status."""
        request = urllib.request.Request(self.site.url + path, body, headers)
        if body is not None:
            request.add_header("Referer", self.address)
        try:
            answer = self.opener.open(request, timeout=60)
        except urllib.error.HTTPError as refused:
            answer = refused
        with answer:
            self.page, self.address = answer.read(), answer.url
            self.headers, self.status = answer.headers, answer.status
        return int(self.status)

    def send(self, **fields: str) -> bytes:
        """Send the form of the page that is open, to its own address."""
        token = re.search(rb'csrfmiddlewaretoken" value="(\w+)"', self.page)
        assert token
        form = {"csrfmiddlewaretoken": token[1].decode(), **fields}
        return self.open(urlsplit(self.address).path, urlencode(form).encode())
