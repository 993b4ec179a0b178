"""Writing a clue: revisions, files, errata, and two people at once."""

from datetime import timedelta
from io import BytesIO

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image
from pypdf import PdfWriter

from kal.models import AuditEntry
from schedule.clue_form import ClueForm
from schedule.errors import FileRefused
from schedule.models import Attachment, Revision
from tests.builders import NOON, make_clue
from tests.pages import words
from tests.paper.pdf_parts import make_pdf
from tests.writing import typed

DAY = timedelta(days=1)


def pdf_bytes() -> bytes:
    writer = PdfWriter()
    writer.add_blank_page(210, 297)
    buffer = BytesIO()
    writer.write(buffer)
    return buffer.getvalue()


def photo_bytes() -> bytes:
    """A JPEG on its side (EXIF orientation 6) that says where it was taken."""
    image = Image.new("RGB", (80, 60), "#7a4b2c")
    exif = Image.Exif()
    exif[274] = 6
    exif.get_ifd(0x8825)[1] = "N"
    exif[271] = "CanaryCam"
    buffer = BytesIO()
    image.save(buffer, "JPEG", exif=exif)
    return buffer.getvalue()


def upload(content, name="chart.pdf"):
    return SimpleUploadedFile(name, content)


@pytest.fixture(autouse=True)
def clock():
    with time_machine.travel(NOON - DAY, tick=False) as traveller:
        yield traveller


@pytest.fixture
def clue(knit_along):
    return make_clue(knit_along, title="Harbour wall")


@pytest.fixture
def page(knit_along):
    return f"/k/{knit_along.slug}/desk/clues/1/"


def draft(**fields):
    return typed(**{"new_alt": ""} | fields)


def numbers(clue):
    return list(clue.revisions.values_list("number", flat=True))


def test_each_change_is_a_revision_and_a_save_without_one_is_not(as_hana, clue, page):
    assert as_hana.post(page, draft(body="Cast on 7.", grams_A="12.5")).status_code == 302
    assert numbers(clue) == [1, 2]
    newest = clue.revision
    assert (newest.body, newest.author.name) == ("Cast on 7.", "Hana")
    assert [str(use) for use in newest.letter_uses.all()] == ["A: 12.5 g"]
    again = draft(began_from=2, body="Cast on 7.", grams_A="12.5")
    assert "Nothing was changed." in words(as_hana.post(page, again, follow=True))
    assert numbers(clue) == [1, 2]


def test_a_revision_cannot_be_edited(clue):
    revision = clue.revision
    revision.body = "Something else"
    with pytest.raises(TypeError, match="a change is a new revision"):
        revision.save()


def test_keeping_a_title_secret_is_no_new_content(as_hana, clue, page):
    data = draft()
    del data["title_is_secret"]
    as_hana.post(page, data)
    clue.refresh_from_db()
    assert not clue.title_is_secret
    assert numbers(clue) == [1]


def test_two_people_at_once_lose_nothing(as_hana, clue, page):
    Revision.objects.create(clue=clue, number=2, body="Theirs: cast on 9.", saved_at=NOON)
    response = as_hana.post(page, draft(body="Mine: cast on 7."))
    assert response.status_code == 409
    shown = words(response)
    assert "saved revision 2 of this clue after you began" in shown
    assert "Theirs: cast on 9." in shown
    assert "Mine: cast on 7.</textarea>" in shown
    assert numbers(clue) == [1, 2]
    assert 'name="began_from" value="2"' in shown
    as_hana.post(page, draft(began_from=2, body="Mine: cast on 7."))
    assert clue.revision.body == "Mine: cast on 7."


@pytest.mark.parametrize(
    ("field", "typed", "sentence"),
    [
        ("grams_A", "-1", "Grams cannot be less than zero."),
        ("grams_A", "lots", "Enter a number."),
        ("title", "x" * 121, "at most 120 characters"),
    ],
)
def test_a_bad_field_is_one_sentence_and_keeps_what_was_typed(
    as_hana, clue, page, field, typed, sentence
):
    response = as_hana.post(page, draft(body="A long new text", **{field: typed}))
    assert response.status_code == 422
    assert sentence in words(response)
    assert "A long new text</textarea>" in words(response)
    assert numbers(clue) == [1]


def test_a_pdf_is_attached_and_can_be_taken_out_again(as_hana, clue, page):
    as_hana.post(page, draft(new_file=upload(pdf_bytes(), "../..\\chart one.pdf")))
    file = Attachment.objects.get()
    assert (file.kind, file.name, file.content_type) == ("pdf", "chart one.pdf", "application/pdf")
    assert list(clue.revision.attachments.all()) == [file]
    assert "chart" not in str(file.file.name)
    as_hana.post(page, draft(began_from=2, kept_files=[file.pk]))
    assert numbers(clue) == [1, 2]
    as_hana.post(page, draft(began_from=2))
    assert list(clue.revision.attachments.all()) == []
    assert list(clue.revisions.get(number=2).attachments.all()) == [file]


def test_an_image_is_kept_upright_and_without_its_metadata(as_hana, clue, page):
    photo = photo_bytes()
    assert b"CanaryCam" in photo
    as_hana.post(page, draft(new_file=upload(photo, "wall.JPG"), new_alt="The wall at low tide"))
    file = Attachment.objects.get()
    assert (file.kind, file.name, file.content_type) == ("image", "wall.webp", "image/webp")
    assert (file.width, file.height, file.alt) == (60, 80, "The wall at low tide")
    stored = file.file.read()
    file.file.close()
    assert b"CanaryCam" not in stored
    assert b"EXIF" not in stored
    with Image.open(BytesIO(stored)) as image:
        assert image.size == (60, 80)
        assert "exif" not in image.info


def test_an_image_needs_a_description(as_hana, clue, page):
    response = as_hana.post(page, draft(body="New text", new_file=upload(photo_bytes(), "a.jpg")))
    assert response.status_code == 422
    assert "Say what the image shows" in words(response)
    assert "New text</textarea>" in words(response)
    assert not Attachment.objects.exists()


def test_a_description_is_mended_without_the_file_and_without_a_note(
    as_hana, as_kit, clue, page, clock
):
    as_hana.post(page, draft(new_file=upload(photo_bytes(), "a.jpg"), new_alt="The wall"))
    file = Attachment.objects.get()
    kept = {"began_from": 2, "kept_files": [file.pk]}
    missing = as_hana.post(page, draft(**kept, **{f"shows_{file.pk}": " "}))
    assert "Say what the image shows, for whoever cannot see it." in words(missing)
    clock.move_to(NOON + DAY)
    as_hana.post(page, draft(**kept, **{f"shows_{file.pk}": "The wall at low tide"}))
    assert numbers(clue) == [1, 2, 3]
    assert clue.revision.note == ""
    reading = words(as_kit.get(f"/k/{clue.knit_along.slug}/clues/1/"))
    assert 'alt="The wall at low tide"' in reading
    assert "Put right since" not in reading


def test_a_good_file_is_kept_though_another_field_is_wrong(as_hana, clue, page):
    response = as_hana.post(page, draft(grams_A="-1", new_file=upload(pdf_bytes())))
    assert response.status_code == 422
    file = Attachment.objects.get()
    assert f'value="{file.pk}" id="id_kept_files_0" checked' in words(response)
    assert numbers(clue) == [1]


@pytest.mark.parametrize(
    ("name", "content", "sentence"),
    [
        ("chart.pdf", b"", "The submitted file is empty."),
        ("chart.pdf", b"PK\x03\x04", "That file is not a PDF"),
        ("chart.pdf", b"%PDF-1.7 nothing here", "That PDF is damaged"),
        ("chart.pdf", make_pdf(trailer="/Encrypt << /Filter /Standard >>"), "PDF is encrypted;"),
        ("chart.pdf", make_pdf(catalog="/OpenAction << /S /Launch >>"), "That PDF carries scripts"),
        ("chart.txt", b"just words", "That file is not a photo this page can read"),
        ("page.html", b"<script>alert(1)</script>", "That file is not a photo this page can read"),
    ],
)
def test_a_file_that_cannot_be_handed_out_is_refused_with_the_reason(
    as_hana, clue, page, name, content, sentence
):
    response = as_hana.post(page, draft(new_file=upload(content, name)))
    assert response.status_code == 422
    assert sentence in words(response)
    assert not Attachment.objects.exists()


def test_a_pdf_that_no_name_can_be_put_on_is_refused(as_hana, clue, page, monkeypatch):
    """Once stored it would be handed out without one."""
    monkeypatch.setattr("schedule.stamping.stamp", unstampable)
    response = as_hana.post(page, draft(new_file=upload(pdf_bytes())))
    assert response.status_code == 422
    assert "so no copy of it can be made." in words(response)
    assert not Attachment.objects.exists()


def unstampable(*_):
    raise FileRefused("That PDF is damaged, so no copy of it can be made.")


def test_a_file_past_the_limit_is_refused(as_hana, clue, page):
    response = as_hana.post(page, draft(new_file=upload(b"%PDF-" + bytes(25_000_001))))
    assert response.status_code == 422
    assert "the limit is 25 MB" in words(response)


def test_a_clue_that_is_out_is_changed_only_with_a_note(as_hana, as_kit, clue, page, clock):
    clock.move_to(NOON + DAY)
    response = as_hana.post(page, draft(body="Cast on 6.", note=" "))
    assert response.status_code == 422
    assert "Clue 1 is out: say in a sentence what you put right" in words(response)
    assert "Cast on 6.</textarea>" in words(response)
    as_hana.post(page, draft(body="Cast on 6.", note="Cast on 6, not 5."))
    assert clue.revision.note == "Cast on 6, not 5."
    reading = words(as_kit.get(f"/k/{clue.knit_along.slug}/clues/1/"))
    assert "Cast on 6, not 5." in reading


def test_a_note_before_the_instant_is_not_errata(as_hana, clue, page):
    as_hana.post(page, draft(body="Cast on 6.", note="Not asked for"))
    assert clue.revision.note == ""


def test_a_ready_clue_cannot_be_emptied(as_hana, clue, page):
    response = as_hana.post(page, draft(body=""))
    assert response.status_code == 422
    assert "Clue 1 is marked ready, so it cannot be saved empty." in words(response)


def test_the_preview_is_what_a_participant_will_see(as_hana, as_kit, clue, page, clock):
    as_hana.post(page, draft(body="# Wall\n\nRow 1: knit.", grams_B="20"))
    preview = as_hana.get(f"{page}preview/").content.decode()
    clock.move_to(NOON)
    reading = as_kit.get(f"/k/{clue.knit_along.slug}/clues/1/").content.decode()
    assert article(preview) == article(reading)
    assert "<h2>Wall</h2>" in article(reading)


def article(page: str) -> str:
    return page[page.index('<article class="clue">') : page.index("</article>")]


def test_writing_is_the_organisers_alone(as_kit, as_sam, clue, page):
    for client in (as_kit, as_sam):
        assert client.get(page).status_code == 404
        assert client.post(page, draft(body="Mine now")).status_code == 404
        assert client.get(f"{page}preview/").status_code == 404
    assert numbers(clue) == [1]


@pytest.mark.parametrize(
    ("sent", "status", "readings"),
    [
        ({}, 302, 1),
        ({"title": "x" * 200}, 422, 1),
        ({"new_file": (b"GIF89a", "empty.gif")}, 422, 1),
        (
            {"new_file": (pdf_bytes(), "chart.pdf")},
            302,
            2,
        ),  # then with the file stored
        ({"add": "sections"}, 200, 2),  # once more, with a row to show
    ],
)
def test_what_is_sent_is_read_no_more_often_than_it_changes(
    as_hana, clue, page, monkeypatch, sent, status, readings
):
    """A form of a long clue takes its time to read."""
    read = []

    class Counted(ClueForm):
        def full_clean(self):
            read.append(self)
            super().full_clean()

    monkeypatch.setattr("schedule.views.writing.ClueForm", Counted)
    files = {name: upload(*file) for name, file in sent.items() if name == "new_file"}
    assert as_hana.post(page, draft(**sent | files)).status_code == status
    assert len(read) == readings


def test_acts_are_logged_without_the_secret(as_hana, clue, page):
    as_hana.post(page, draft(title="Lighthouse", body="Canary"))
    entry = AuditEntry.objects.get()
    assert (entry.act, entry.detail) == ("saved a clue", {"clue": 1, "revision": 2})


def test_a_file_chosen_before_a_section_is_added_is_kept(as_hana, clue, page):
    added = draft(add="sections", new_file=upload(pdf_bytes()))
    shown = words(as_hana.post(page, added))
    file = Attachment.objects.get(clue=clue)
    assert f'value="{file.pk}"' in shown
    assert "chart.pdf" in shown
    assert Revision.objects.get(clue=clue).attachments.count() == 0


def test_a_file_that_is_refused_says_why_though_only_a_section_was_asked_for(as_hana, clue, page):
    added = draft(add="sections", new_file=upload(photo_bytes(), "photo.jpg"))
    assert "Say what the image shows" in words(as_hana.post(page, added))
    assert not Attachment.objects.exists()
