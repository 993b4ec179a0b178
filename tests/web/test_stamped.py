"""Each reader's own copy of a PDF: whose name is on it, when it is made, and when it goes."""

import os
import signal
import subprocess
import sys
import threading
from io import BytesIO
from pathlib import Path

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db import connection
from pypdf import PdfReader

from kal.demo.pdf import page_pdf
from kal.models import Role
from schedule import stamped, stamping
from schedule.models import Revision
from tests.builders import NOON, make_clue, make_participant
from tests.conftest import signed_in
from tests.web.test_clues import SECOND, at, attach, file_address

PDF = page_pdf("Clue 1", "Knit to the end.")
ROOT = Path(__file__).resolve().parent.parent.parent


@pytest.fixture(autouse=True)
def signed_in_today():
    with at(NOON - SECOND * 3600):
        yield


@pytest.fixture
def clue(knit_along):
    return make_clue(knit_along)


@pytest.fixture
def file(clue):
    return attach(clue, PDF)


def copies():
    try:
        folders = default_storage.listdir(stamped.FOLDER)[0]
    except FileNotFoundError:
        return []
    return sorted(
        f"{stamped.FOLDER}/{folder}/{name}"
        for folder in folders
        for name in default_storage.listdir(f"{stamped.FOLDER}/{folder}")[1]
    )


def text_of(response):
    (page,) = PdfReader(BytesIO(response.content)).pages
    return " ".join(page.extract_text().split())


def opened(client, knit_along, file, instant=NOON):
    with at(instant):
        return client.get(file_address(knit_along, file))


def test_the_copy_has_the_readers_name_and_is_made_once(knit_along, kit, as_kit, file, monkeypatch):
    first = opened(as_kit, knit_along, file)
    assert text_of(first) == f"Clue 1 Knit to the end. For Kit · {knit_along.title}"
    assert len(copies()) == 1
    monkeypatch.setattr(stamping, "stamp", None)  # a second making would fail
    second = opened(as_kit, knit_along, file)
    assert second.content == first.content
    assert second.headers["ETag"] == first.headers["ETag"]


def test_early_readers_get_their_name_too(knit_along, file):
    early = make_participant(knit_along, "Edda", Role.CO_ORGANISER)
    page = opened(signed_in(early.user), knit_along, file, NOON - SECOND)
    assert f"For Edda · {knit_along.title}" in text_of(page)


def test_nothing_is_made_for_those_who_may_not_read(knit_along, as_kit, as_sam, file):
    assert opened(as_kit, knit_along, file, NOON - SECOND).status_code == 404
    assert opened(as_sam, knit_along, file).status_code == 404
    assert copies() == []


def test_another_name_is_another_copy_with_another_tag(knit_along, kit, as_kit, file):
    first = opened(as_kit, knit_along, file)
    type(kit.user).objects.filter(pk=kit.user_id).update(name="Kit Marlow")
    second = opened(as_kit, knit_along, file)
    assert "For Kit Marlow ·" in text_of(second)
    assert first.headers["ETag"] != second.headers["ETag"]


def test_another_stamp_is_another_copy(knit_along, kit, file, monkeypatch):
    before = stamped.copy_path(file.key, kit)
    monkeypatch.setattr(stamped, "VERSION", stamped.VERSION + 1)
    assert stamped.copy_path(file.key, kit) != before


def test_pictures_are_not_stamped(knit_along, clue, as_kit):
    picture = attach(clue, b"RIFF", name="edge.webp", kind="image", content_type="image/webp")
    assert opened(as_kit, knit_along, picture).content == b"RIFF"
    assert copies() == []


def test_a_pdf_that_cannot_be_stamped_still_reaches_its_reader(knit_along, clue, as_kit, caplog):
    file = attach(clue, b"%PDF-1.7 chart")
    assert opened(as_kit, knit_along, file).content == b"%PDF-1.7 chart"
    assert "handed out without a stamp" in caplog.text


def test_first_asks_at_once_make_one_whole_copy(knit_along, kit, file):
    path = stamped.copy_path(file.key, kit)
    made, barrier = [], threading.Barrier(4)

    def ask():
        barrier.wait()
        made.append(stamped.make_copy(path, file, kit))
        connection.close()

    threads = [threading.Thread(target=ask) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(made) == [False, False, False, True]
    with default_storage.open(path) as copy:
        assert len(PdfReader(BytesIO(copy.read())).pages) == 1


KILLED = """
import os, signal, sys
from pathlib import Path
import django
from django.conf import settings
settings.configure(MEDIA_ROOT=sys.argv[1], STORAGES={"default": {
    "BACKEND": "kal.storage.PrivateFiles", "OPTIONS": {"allow_overwrite": True}}})
django.setup()
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
class Dying(ContentFile):
    def chunks(self, chunk_size=None):
        yield b"half" * 10_000
        os.kill(os.getpid(), signal.SIGKILL)
default_storage.save("stamped/a/1-b", Dying(b""))
"""


def test_a_process_that_dies_while_writing_leaves_no_copy(settings, tmp_path):
    root = Path(settings.MEDIA_ROOT)
    died = subprocess.run([sys.executable, "-c", KILLED, str(root)], cwd=ROOT, check=False)
    assert died.returncode == -signal.SIGKILL
    assert os.listdir(root) == ["parts"]
    assert not default_storage.exists("stamped/a/1-b")


class TestTidying:
    def test_copies_in_use_stay(self, knit_along, kit, as_kit, file):
        opened(as_kit, knit_along, file)
        assert stamped.drop_stale_copies(most=100) == 0
        assert len(copies()) == 1

    def test_copies_of_a_file_that_was_dropped_go(self, knit_along, clue, as_kit, file):
        opened(as_kit, knit_along, file)
        Revision.objects.create(clue=clue, number=2, body="Anew", note="No PDF", saved_at=NOON)
        assert stamped.drop_stale_copies(most=100) == 1
        assert copies() == []

    def test_copies_of_people_who_left_go(self, knit_along, kit, as_kit, file):
        opened(as_kit, knit_along, file)
        type(kit).objects.filter(pk=kit.pk).update(left_at=NOON)
        assert stamped.drop_stale_copies(most=100) == 1
        assert copies() == []

    def test_copies_with_a_name_of_before_go(self, knit_along, kit, as_kit, file):
        opened(as_kit, knit_along, file)
        type(kit.user).objects.filter(pk=kit.user_id).update(name="Kit Marlow")
        opened(as_kit, knit_along, file)
        assert stamped.drop_stale_copies(most=100) == 1
        assert copies() == [stamped.copy_path(file.key, type(kit).objects.get(pk=kit.pk))]

    def test_no_more_than_asked_go_at_once_and_strays_go_too(self):
        for number in range(5):
            default_storage.save(f"{stamped.FOLDER}/no-key/{number}-x", ContentFile(b"x"))
        assert [stamped.drop_stale_copies(most=3) for _ in range(3)] == [3, 2, 0]

    def test_all_copies_of_one_person_go_and_nobody_elses(self, knit_along, kit, file):
        other = make_participant(knit_along, "Rin")
        for person in (kit, other):
            stamped.make_copy(stamped.copy_path(file.key, person), file, person)
        assert stamped.drop_copies_of(kit) == 1
        assert copies() == [stamped.copy_path(file.key, other)]

    def test_nothing_was_ever_stamped(self, db):
        assert stamped.drop_stale_copies(most=10) == 0
