"""The web server is killed while people register, and an organiser types and uploads.

Whatever was answered is there afterwards, whole; the rest is there whole or not at all.
"""

import http.client
import json
import random
import threading
import time
from collections.abc import Callable, Sequence
from functools import partial

import pytest

from tests.builders import NO_ROWS
from tests.paper.pdf_parts import make_pdf
from tests.site_process import CSRF, Site, Web, sessions_of, signed_in

PEOPLE, UPLOADS, KILLS = 60, 18, 5  # a clue keeps at most 20 files
SEED = 20270302
SET_UP = f"""
from datetime import timedelta
from django.utils import timezone
from kal.models import Role
from palettes.models import Yarn
from tests.builders import make_clue, make_knit_along, make_palette, make_participant, make_yarn
knit_along = make_knit_along(slug="harbour", cast_on_at=timezone.now() + timedelta(days=20))
for number in (1, 2):
    make_clue(knit_along, number, ready_at=None)
make_participant(knit_along, "Hana", Role.ORGANISER)
for _ in range({PEOPLE}):
    palette = make_palette(make_participant(knit_along))
    for n in range(5):
        make_yarn(palette, place=Yarn.Place.CHOSEN, position=n, lab_l=20 + 15 * n)
"""
REGISTERED = """
import json
from palettes.models import Registration
print(json.dumps({r.palette.participant.user.email: r.yarns.count()
    for r in Registration.objects.all()}))
"""
KEPT = """
import json
from schedule.models import Attachment, UnsavedWords
from django.core.files.storage import default_storage as disk
kept = UnsavedWords.objects.first()
files = {a.name: disk.open(a.file.name).read() == open("PDF", "rb").read()
    for a in Attachment.objects.all()}
on_disk = len(disk.listdir("clues")[1]) if disk.exists("clues") else 0
print(json.dumps([kept.fields["body"][0] if kept else "", files, on_disk]))
"""

pytestmark = pytest.mark.faults


@pytest.fixture
def site(tmp_path, database_url):
    site = Site(tmp_path, database_url)
    site.run("migrate", "--verbosity=0")
    site.shell(SET_UP)
    return site


def go_on_through_kills(web: Web, acts: Sequence[Callable[[], bool]]) -> list[bool]:
    """Do one act after another while the server is killed; return which were answered."""
    done: list[bool] = []

    def work() -> None:
        for act in acts:
            try:
                done.append(act())
            except (OSError, http.client.HTTPException):
                done.append(False)
                time.sleep(0.2)

    dice = random.Random(SEED)
    worker = threading.Thread(target=work)
    worker.start()
    for kill in range(1, KILLS + 1):
        while len(done) < kill * len(acts) // (KILLS + 1) and worker.is_alive():
            time.sleep(0.001)
        time.sleep(dice.random() / 20)
        web.kill()
        web.start()
    worker.join()
    assert 0 < sum(done) < len(done)
    return done


def test_a_registration_that_was_answered_is_there_and_every_one_is_whole(site):
    sessions = {who: key for who, key in sessions_of(site).items() if who.startswith("kit")}
    with site.serving() as web:

        def register(session: str) -> bool:
            return bool(web.post("/k/harbour/palette/register/", session, {})[0] == 302)

        acts = [partial(register, session) for session in sessions.values()]
        answered = go_on_through_kills(web, acts)
    registered = json.loads(site.shell(REGISTERED))
    for who, was_answered in zip(sessions, answered, strict=True):
        assert who in registered or not was_answered
    assert set(registered.values()) == {5}


def test_words_and_files_that_were_answered_are_there_and_no_file_is_half(site, tmp_path):
    hana = next(key for who, key in sessions_of(site).items() if who.startswith("hana"))
    pdf = make_pdf()
    (tmp_path / "sent.pdf").write_bytes(pdf)
    typed = {"began_from": "1", "title": "Wall", "title_is_secret": "on"}
    typed |= {name: str(value) for name, value in NO_ROWS.items()}
    with site.serving() as web:

        def keep(number: int) -> bool:
            fields = typed | {"body": f"Row {number}"}
            return bool(web.post("/k/harbour/desk/clues/1/keep/", hana, fields)[0] < 400)

        def upload(number: int) -> bool:
            body, kind = multipart(typed | {"new_alt": f"Sheet {number}"}, number, pdf)
            headers = signed_in(hana) | {"Content-Type": kind}
            # 409 says that somebody saved meanwhile, and that the file was kept.
            answer = web.ask("POST", "/k/harbour/desk/clues/2/", body, headers)
            return answer[0] in (302, 409)

        numbers = range(UPLOADS)
        acts = [partial(act, number) for number in numbers for act in (keep, upload)]
        answered = go_on_through_kills(web, acts)
    kept, files, on_disk = json.loads(site.shell(KEPT.replace("PDF", str(tmp_path / "sent.pdf"))))
    last = max(number for number in range(UPLOADS) if answered[2 * number])
    assert int(kept.removeprefix("Row ")) >= last
    for number in range(UPLOADS):
        assert f"sheet{number}.pdf" in files or not answered[2 * number + 1]
    assert set(files.values()) == {True}
    # A file that was stored, and whose row was not, is whole and harms nobody.
    assert len(files) <= on_disk <= len(files) + KILLS


def multipart(fields: dict[str, str], number: int, pdf: bytes) -> tuple[bytes, str]:
    boundary = "boundary0123456789"
    parts = [
        f'--{boundary}\r\nContent-Disposition: form-data; name="{name}"\r\n\r\n{value}\r\n'
        for name, value in (fields | {"csrfmiddlewaretoken": CSRF}).items()
    ]
    file = (
        f'--{boundary}\r\nContent-Disposition: form-data; name="new_file"; '
        f'filename="sheet{number}.pdf"\r\nContent-Type: application/pdf\r\n\r\n'
    )
    body = "".join(parts).encode() + file.encode() + pdf + f"\r\n--{boundary}--\r\n".encode()
    return body, f"multipart/form-data; boundary={boundary}"
