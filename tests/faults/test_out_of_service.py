"""No room on the disk, or no database: a plain page, and nothing half-written."""

import json
import resource

import pytest

from tests.builders import NO_ROWS
from tests.faults.test_web_killed import SET_UP, multipart
from tests.paper.pdf_parts import make_pdf, stream
from tests.servers import free_port
from tests.site_process import Site, sessions_of, signed_in

STATE = """
import json
from pathlib import Path
from django.conf import settings
from schedule.models import Attachment, Revision
files = [str(path) for path in Path(settings.MEDIA_ROOT).rglob("*") if path.is_file()]
print(json.dumps([Attachment.objects.count(), Revision.objects.count(), files]))
"""

pytestmark = pytest.mark.faults


def words(body: bytes) -> str:
    return " ".join(body.decode().split())


def test_without_its_database_the_site_says_so(tmp_path):
    site = Site(tmp_path, f"postgres://postgres@127.0.0.1:{free_port()}/nowhere")
    with site.serving() as web:
        for path in ("/", "/k/harbour/clues/1/", "/sign-in/"):
            status, body = web.ask("GET", path, headers=signed_in("n" * 32))
            assert status == 503, path
            assert "<h1>Not at the moment</h1>" in words(body)
            assert "cannot reach its database" in words(body)
        status, _ = web.post("/sign-in/", "n" * 32, {"email": "kit@knitters.example"})
        assert status == 503
        assert web.ask("GET", "/static/css/site.css")[0] == 200


def test_a_full_disk_keeps_nothing_half_and_takes_the_same_file_once_there_is_room(
    tmp_path, database_url
):
    """The kernel refuses to let a file of the server grow (setrlimit, RLIMIT_FSIZE)."""
    site = Site(tmp_path, database_url)
    site.run("migrate", "--verbosity=0")
    site.shell(SET_UP)
    hana = next(key for who, key in sessions_of(site).items() if who.startswith("hana"))
    pdf = make_pdf(more=[stream(b"." * 5_000_000)])
    fields = {"began_from": "1", "title": "Wall", "body": "Cast on 5.", "new_alt": "Sheet"}
    body, kind = multipart(fields | {name: str(n) for name, n in NO_ROWS.items()}, 1, pdf)
    headers = signed_in(hana) | {"Content-Type": kind}
    before = json.loads(site.shell(STATE))
    with site.serving() as web:
        limit(web.worker_pids(), 4_000_000)
        status, page = web.ask("POST", "/k/harbour/desk/clues/1/", body, headers)
        assert status == 503
        assert "There is no room left" in words(page)
        assert json.loads(site.shell(STATE)) == before
        limit(web.worker_pids(), resource.RLIM_INFINITY)
        status, page = web.ask("POST", "/k/harbour/desk/clues/1/", body, headers)
        assert status < 400, words(page)
    attachments, _, files = json.loads(site.shell(STATE))
    assert (attachments, len(files)) == (1, 1)


def limit(pids: list[int], size: int) -> None:
    for pid in pids:
        resource.prlimit(pid, resource.RLIMIT_FSIZE, (size, resource.RLIM_INFINITY))
