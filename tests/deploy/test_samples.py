"""The samples under deploy/ that are no code: read by the programs they are for, and run."""

import re
import subprocess
import sys
import threading
from contextlib import suppress
from pathlib import Path
from wsgiref.simple_server import WSGIRequestHandler, make_server

import pytest

from tests.servers import ROOT, Front, free_port, make_certificate, need, running

DEPLOY = ROOT / "deploy"
README = (ROOT / "README.md").read_text()


def test_the_units_are_what_systemd_takes(tmp_path):
    """systemd-analyze verify also looks for each program: here those of this checkout."""
    names = {"knit-along-web.service": "", "knit-along-worker@.service": "1"}
    units = []
    for name, instance in names.items():
        text = (DEPLOY / "systemd" / name).read_text()
        assert "/opt/knit-along/.venv/bin/" in text
        text = text.replace("/opt/knit-along/.venv/bin", str(Path(sys.executable).parent))
        unit = tmp_path / name.replace("@", f"@{instance}")
        unit.write_text(text.replace("/opt/knit-along", str(ROOT)))
        units.append(str(unit))
    verified = subprocess.run(
        [need("systemd-analyze"), "verify", "--man=no", "--recursive-errors=no", *units],
        capture_output=True,
        text=True,
    )
    assert (verified.returncode, verified.stderr) == (0, "")


def test_every_setting_of_the_example_is_one_that_there_is():
    named = re.findall(r"^(KAL_\w+)=", (DEPLOY / "settings.example").read_text(), re.MULTILINE)
    known = re.findall(r"^\| `(KAL_\w+)`", README, re.MULTILINE)
    assert set(named) <= set(known)
    assert "KAL_SECRET_KEY" in named


class Quiet(WSGIRequestHandler):
    def log_message(self, *args: object) -> None:
        pass


@pytest.fixture
def echo():
    """A site that says what reached it."""

    def site(environ, start_response):
        length = int(environ.get("CONTENT_LENGTH") or 0)
        got = len(environ["wsgi.input"].read(length))
        start_response("200 OK", [("Content-Type", "text/plain")])
        names = ("HTTP_HOST", "HTTP_X_FORWARDED_FOR", "HTTP_X_FORWARDED_PROTO", "HTTP_RANGE")
        return ["\n".join([*(environ.get(name, "-") for name in names), str(got)]).encode()]

    with make_server("127.0.0.1", 0, site, handler_class=Quiet) as server:
        thread = threading.Thread(target=server.serve_forever)
        thread.start()
        yield server.server_port
        server.shutdown()
        thread.join()


@pytest.fixture
def caddy(echo, tmp_path):
    port = free_port()
    certificate, key = make_certificate(tmp_path)
    text = (DEPLOY / "caddy/Caddyfile").read_text()
    changes = {
        "127.0.0.1:8000": f"127.0.0.1:{echo}",
        "\nknits.example {": (
            "\n{\n\tadmin off\n\tauto_https disable_redirects\n}\n"
            f"https://localhost:{port} {{\n\ttls {certificate} {key}"
        ),
    }
    for shipped, ours in changes.items():
        assert shipped in text
        text = text.replace(shipped, ours)
    settings = tmp_path / "Caddyfile"
    settings.write_text(text)
    homes = {
        "HOME": str(tmp_path),
        "XDG_DATA_HOME": str(tmp_path),
        "XDG_CONFIG_HOME": str(tmp_path),
    }
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
    command = [need("caddy"), "run", "--adapter", "caddyfile", "--config", str(settings)]
    with running(command, port, env=homes, **quiet):
        yield Front(port, tmp_path)


def test_caddy_tells_the_site_who_asks_and_believes_no_visitor(caddy):
    spoofed = {"X_Forwarded_For": "203.0.113.9", "X_Forwarded_Proto": "http"}
    answer, body = caddy.ask("/k/harbour/", Range="bytes=0-9", **spoofed)
    assert answer.status == 200
    told = [f"localhost:{caddy.port}", "127.0.0.1", "https", "bytes=0-9", "0"]
    assert body.decode().splitlines() == told


def test_caddy_passes_uploads_up_to_the_limit_of_one(caddy):
    _, body = caddy.ask("/", "POST", bytes(25_000_000))
    assert body.decode().splitlines()[-1] == "25000000"
    # It may close the connection while the rest is still being sent.
    with suppress(BrokenPipeError, ConnectionResetError):
        answer, _ = caddy.ask("/", "POST", bytes(27_000_000))
        assert answer.status in (413, 502)  # Caddy 2.6 says 502, as the site got half a request
