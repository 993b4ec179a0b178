"""Real servers for tests, each on a port and in a folder of its own, and stopped afterwards.

Where a server is not installed its tests are skipped with that reason, and in CI they fail.
"""

import os
import re
import shutil
import socket
import ssl
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from http.client import HTTPResponse, HTTPSConnection
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
SAMPLE = ROOT / "deploy/nginx/knit-along.conf"
GUIDE = ROOT / "docs/deploy.md"
PATIENCE = 60.0  # seconds, on a busy machine


def need(program: str) -> str:
    """Return the path of a program, or skip the test; in CI it has to be there."""
    path = shutil.which(program, path=f"{os.environ['PATH']}:/usr/sbin:/usr/local/sbin")
    if path is None:
        refuse(f"{program} is not installed")
    assert path
    return path


def refuse(reason: str) -> None:
    if os.environ.get("CI"):
        pytest.fail(f"{reason}, and in CI it has to be.")
    pytest.skip(reason)


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


def answers(port: int) -> bool:
    with socket.socket() as probe:
        probe.settimeout(1)
        return probe.connect_ex(("127.0.0.1", port)) == 0


def wait_for(port: int, process: "subprocess.Popen[bytes]") -> None:
    give_up_at = time.monotonic() + PATIENCE
    while not answers(port):
        assert process.poll() is None, f"{process.args!r} ended with {process.returncode}"
        assert time.monotonic() < give_up_at, f"{process.args!r} does not answer on {port}"
        time.sleep(0.05)


@contextmanager
def running(
    command: list[str], port: int | None, **options: object
) -> Iterator["subprocess.Popen[bytes]"]:
    """Run a command until it answers on the port, if it is to have one, and end it afterwards."""
    process = subprocess.Popen(command, **options)  # type: ignore[call-overload]
    try:
        if port is not None:
            wait_for(port, process)
        yield process
    finally:
        process.terminate()
        try:
            process.wait(timeout=20)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()


def make_certificate(folder: Path) -> tuple[Path, Path]:
    """Return a certificate for localhost that nobody signed, and its key."""
    certificate, key = folder / "site.pem", folder / "site.key"
    subprocess.run(
        [
            *(need("openssl"), "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "2"),
            *("-subj", "/CN=localhost", "-addext", "subjectAltName=DNS:localhost"),
            *("-keyout", str(key), "-out", str(certificate)),
        ],
        check=True,
        capture_output=True,
    )
    return certificate, key


def write_nginx_secret(folder: Path, secret: str) -> None:
    """Do as the guide says, with `secret` in the settings, to make the file that nginx reads."""
    (folder / "settings").write_text(f"KAL_LOG=json\nKAL_NGINX_SECRET={secret}\nKAL_DEMO=False\n")
    for start in ("install -m 600 /dev/null ", "sed -nE "):
        (line,) = re.findall(rf"^ +({start}.*)$", GUIDE.read_text(), re.MULTILINE)
        line = line.replace("/etc/knit-along/settings", str(folder / "settings"))
        line = line.replace("/etc/nginx/knit-along.secret", str(folder / "secret"))
        subprocess.run(["sh", "-c", line], check=True)


def nginx_settings(folder: Path, *, site: int, port: int, files: Path, secret: str) -> Path:
    """Write the sample with this test's ports and folders; every other line is as it is shipped."""
    certificate, key = make_certificate(folder)
    text = SAMPLE.read_text()
    changes = {
        "127.0.0.1:8000": f"127.0.0.1:{site}",
        "listen 80;": f"listen 127.0.0.1:{free_port()};",
        "listen 443 ssl http2;": f"listen 127.0.0.1:{port} ssl http2;",
        "server_name knits.example;": "server_name localhost;",
        "/etc/letsencrypt/live/knits.example/fullchain.pem": str(certificate),
        "/etc/letsencrypt/live/knits.example/privkey.pem": str(key),
        "/var/lib/knit-along/private/": f"{files}/",
        "/var/lib/knit-along/private;": f"{files};",
        "/etc/nginx/knit-along.secret": str(folder / "secret"),
    }
    for shipped, ours in changes.items():
        assert shipped in text, f"{SAMPLE.name} no longer says {shipped!r}"
        text = text.replace(shipped, ours)
    (folder / "site.conf").write_text(text)
    write_nginx_secret(folder, secret)
    temporary = "".join(
        f"{kind}_temp_path {folder / kind};\n"
        for kind in ("client_body", "proxy", "fastcgi", "uwsgi", "scgi")
    )
    main = folder / "nginx.conf"
    user = "user root;\n" if os.geteuid() == 0 else ""
    main.write_text(
        f"{user}daemon off;\npid {folder / 'nginx.pid'};\nerror_log {folder / 'error.log'};\n"
        f"worker_processes 2;\nevents {{ worker_connections 512; }}\n"
        f"http {{\ntypes {{}}\ndefault_type application/octet-stream;\n{temporary}"
        f"include {folder / 'site.conf'};\n}}\n"
    )
    return main


@contextmanager
def running_nginx(
    folder: Path, *, site: int, files: Path, secret: str, port: int | None = None
) -> Iterator["Front"]:
    """Run nginx with the shipped sample before the site on port `site`; yield where it answers."""
    program, port = need("nginx"), port or free_port()
    folder.mkdir(parents=True, exist_ok=True)
    settings = nginx_settings(folder, site=site, port=port, files=files, secret=secret)
    command = [program, "-e", str(folder / "error.log"), "-p", str(folder), "-c", str(settings)]
    with running(command, port):
        yield Front(port, folder)


class Front:
    """The site as its visitors reach it: by HTTPS, through nginx."""

    def __init__(self, port: int, folder: Path) -> None:
        self.port, self.folder = port, folder
        self.url = f"https://localhost:{port}"
        self.trust = ssl.create_default_context(cafile=str(folder / "site.pem"))

    def connect(self) -> HTTPSConnection:
        return HTTPSConnection("localhost", self.port, context=self.trust, timeout=PATIENCE)

    def ask(
        self, path: str, method: str = "GET", body: bytes | None = None, **headers: str
    ) -> tuple[HTTPResponse, bytes]:
        """Return the answer and its body; a header's name has underscores for hyphens."""
        connection = self.connect()
        try:
            named = {name.replace("_", "-"): value for name, value in headers.items()}
            connection.request(method, path, body, named)
            answer = connection.getresponse()
            return answer, answer.read()
        finally:
            connection.close()
