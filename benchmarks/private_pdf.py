"""Serve a private, stamped PDF through nginx against nginx serving the same file to anybody.

    python -m benchmarks.private_pdf [seconds]

Everything is as it is shipped: nginx with the sample of deploy/ (HTTPS), gunicorn with its file,
two web processes. The file is asked for in three ways: "asked" has no pass, so the site looks up
session, user, membership, clue and file for every request before it answers X-Accel-Redirect;
"passed" brings the pass that the site gave with its last answer, and nginx checks that by itself;
"open" is a location of the same nginx that leads anybody to the very file. The client is wrk
(Debian's package), over connections that are kept alive. Turns are taken, and the median of each
counts.

Ratios to "open" are printed for each size. On loopback nothing is in the way, and a small file
costs less to send than any question about it costs to answer: the ratio of "asked" is Python's. On
a line, all connections together are as fast as LINE, to which nginx slows all three; that one is
what readers find as long as the site keeps its line full.
"""

import os
import re
import secrets
import shutil
import statistics
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from tests.servers import ROOT, Front, free_port, nginx_settings, running

SECONDS = 4
ROUNDS = 5
SIZES = (200_000, 5_000_000, 20_000_000)  # bytes: a page of text, a few charts, a chart book
LINE = 100  # Mbit/s, what a small server's line has; our choice
CONNECTIONS = 8
WAYS = ("asked", "passed", "open")
SET_UP = """
import os, sys
from datetime import timedelta
from io import BytesIO
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.contrib.sessions.backends.db import SessionStore
from django.core.files.base import ContentFile
from django.utils import timezone
from pypdf import PdfReader, PdfWriter
from pypdf.generic import DecodedStreamObject, NameObject
from kal.demo.pdf import page_pdf
from kal.models import KnitAlong, Participant, User
from schedule.models import Attachment, Clue, Revision
now = timezone.now()
knit_along = KnitAlong.objects.create(
    slug="harbour", title="Harbour Lights", zone="Europe/Lisbon",
    sign_up_opens_at=now - timedelta(days=9), sign_up_closes_at=now + timedelta(days=9),
    cast_on_at=now - timedelta(days=1))
user = User.objects.create_user("kit@knitters.example", name="Kit")
Participant.objects.create(user=user, knit_along=knit_along)
clue = Clue.objects.create(knit_along=knit_along, number=1, title="Wall",
                           release_at=now - timedelta(hours=1), ready_at=now)
revision = Revision.objects.create(clue=clue, number=1, body="Row 1", saved_at=now)
for size in map(int, os.environ["SIZES"].split()):
    writer = PdfWriter(clone_from=PdfReader(BytesIO(page_pdf("Clue 1", "Knit."))))
    picture = DecodedStreamObject()
    picture.set_data(os.urandom(size - 25_000))  # the stamp's typeface is the rest
    writer.root_object[NameObject("/Picture")] = writer._add_object(picture)
    data = BytesIO()
    writer.write(data)
    file = Attachment(clue=clue, kind="pdf", name=f"{size}.pdf", content_type="application/pdf",
                      size=size)
    file.file.save("", ContentFile(data.getvalue()))
    revision.attachments.add(file)
    print(f"/k/harbour/clues/1/files/{file.key}/")
session = SessionStore()
session[SESSION_KEY], session[HASH_SESSION_KEY] = str(user.pk), user.get_session_auth_hash()
session[BACKEND_SESSION_KEY] = "allauth.account.auth_backends.AuthenticationBackend"
session.save()
print(session.session_key)
"""


@dataclass(frozen=True)
class Pair:
    """One file under its two addresses, and the session of who may have it."""

    size: int
    private: str
    open: str
    session: str

    def ways(self, front: Front) -> dict[str, tuple[str, str]]:
        """Return address and cookies by way of asking, with a pass that has just been given."""
        answer, _ = front.ask(self.private, Cookie=self.session)
        given = answer.headers["Set-Cookie"].partition(";")[0]
        passed = f"{self.session}; {given}"
        # Whatever the site answers comes with a pass: this came from nginx.
        assert front.ask(self.private, Cookie=passed)[0].headers["Set-Cookie"] is None
        return {
            "asked": (self.private, self.session),
            "passed": (self.private, passed),
            "open": (self.open, self.session),
        }


@contextmanager
def running_site(folder: Path) -> Iterator[tuple[Front, list[Pair]]]:
    """Yield nginx before the site, and the files to ask for."""
    web, port, data, secret = free_port(), free_port(), folder / "data", secrets.token_hex(32)
    ours = {name: value for name, value in os.environ.items() if name[:4] != "KAL_"}
    environment = ours | {
        "KAL_DATA_DIR": str(data),
        "KAL_ALLOWED_HOSTS": "localhost",
        "KAL_NGINX_FILES": "/private/",
        "KAL_NGINX_SECRET": secret,
        "KAL_PROXIES": "1",
        "BIND": f"127.0.0.1:{web}",
        "WEB_CONCURRENCY": "2",
        "SIZES": " ".join(map(str, SIZES)),
    }
    if url := os.environ.get("KAL_DATABASE_URL"):
        environment["KAL_DATABASE_URL"] = url
    manage(environment, "migrate", "--verbosity=0")
    *addresses, session = manage(
        environment, "shell", "--verbosity=0", "--no-imports", "-c", SET_UP
    ).split()
    files = data / "private"
    settings = nginx_settings(folder, site=web, port=port, files=files, secret=secret)
    site = folder / "site.conf"
    text = site.read_text().replace("    location /private/ {", OPEN.format(data), 1)
    site.write_text(text.replace("        secure_link ", PASSED, 1))
    gunicorn = [sys.executable, "-m", "gunicorn", "--config", "deploy/gunicorn.conf.py"]
    nginx = shutil.which("nginx", path="/usr/sbin:/usr/bin") or "nginx"
    quiet = {"stderr": subprocess.DEVNULL}
    with (
        running([*gunicorn, "kal.wsgi"], web, cwd=ROOT, env=environment, **quiet),
        running([nginx, "-e", str(folder / "error.log"), "-c", str(settings)], port),
    ):
        front = Front(port, folder)
        cookie = f"sessionid={session}"
        yield front, [pair(front, cookie, data, address) for address in addresses]


OPEN = """    location /open/ {{
        alias {}/private/;
        sendfile on;
        tcp_nopush on;
        limit_rate $http_x_rate;
    }}

    location /private/ {{
        limit_rate $http_x_rate;"""


PASSED = """        limit_rate $http_x_rate;
        secure_link """


def manage(environment: dict[str, str], *arguments: str) -> str:
    command = [sys.executable, "manage.py", *arguments]
    done = subprocess.run(command, cwd=ROOT, env=environment, stdout=subprocess.PIPE, text=True)
    done.check_returncode()
    return done.stdout


def pair(front: Front, session: str, data: Path, address: str) -> Pair:
    """Have the copy made, find it, and see that both addresses answer with the same bytes."""
    answer, body = front.ask(address, Cookie=session)
    assert answer.status == 200, answer.status
    (copy,) = (
        path
        for path in (data / "private/stamped").rglob("*")
        if path.is_file() and path.read_bytes() == body
    )
    open_address = f"/open/{copy.relative_to(data / 'private')}"
    assert front.ask(open_address)[1] == body
    assert front.ask(address)[0].status == 302  # nobody without a session
    return Pair(len(body), address, open_address, session)


def measure(front: Front, address: str, cookies: str, rate: int, seconds: int) -> float:
    """Return bytes a second, of unfinished files too; every answer must be a 2xx."""
    command = ["wrk", "-t1", f"-c{CONNECTIONS}", f"-d{seconds}s", "--timeout=20s"]
    headers = ["-H", f"Cookie: {cookies}", "-H", f"X-Rate: {rate}"]
    told = subprocess.run(
        [*command, *headers, front.url + address], capture_output=True, text=True, check=True
    ).stdout
    assert "Non-2xx" not in told, told
    found = re.search(r"Transfer/sec:\s+([\d.]+)([KMG]?)B", told)
    assert found, told
    return float(found[1]) * 1024.0 ** " KMG".index(found[2] or " ")


def main(arguments: list[str]) -> int:
    seconds = int(arguments[0]) if arguments else SECONDS
    if not shutil.which("wrk") or not shutil.which("nginx", path="/usr/sbin:/usr/bin"):
        print("This needs Debian's packages wrk and nginx.")
        return 1
    with tempfile.TemporaryDirectory() as folder, running_site(Path(folder)) as site:
        front, pairs = site
        for line in (0, LINE):
            for one in pairs:
                enough = max(seconds, seconds_for(one.size, line))
                report(line, one, compare(front, one, line, enough))
    return 0


def seconds_for(size: int, line: int) -> int:
    """Return how long every connection takes for one file over the line, 0 on loopback."""
    return CONNECTIONS * size * 8 // (line * 1_000_000) + 1 if line else 0


def compare(front: Front, one: Pair, line: int, seconds: int) -> dict[str, float]:
    """Return the median of files a second for each way of asking."""
    rate = line * 1_000_000 // 8 // CONNECTIONS
    taken: dict[str, list[float]] = {}
    for _ in range(ROUNDS):
        for way in WAYS:
            address, cookies = one.ways(front)[way]  # anew, as a pass may end in the meantime
            taken.setdefault(way, []).append(measure(front, address, cookies, rate, seconds))
    return {way: statistics.median(rates) / one.size for way, rates in taken.items()}


def report(line: int, one: Pair, rates: dict[str, float]) -> None:
    where = f"line of {line} Mbit/s" if line else "loopback"
    asked, passed, opened = rates["asked"], rates["passed"], rates["open"]
    print(
        f"{one.size:>10,} bytes  {where:<19} asked {asked:7.1f}/s at {asked / opened:.0%}  "
        f"passed {passed:7.1f}/s at {passed / opened:.0%}  open {opened:7.1f}/s",
        flush=True,
    )


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
