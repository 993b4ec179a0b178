"""What hostile hands put into every field of posts, questions, answers and reports."""

import pytest
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone
from PIL import Image

from kal.models import Role, User
from schedule.models import Answer, Post, Question, Report
from schedule.models.post import PHOTO_FOLDER
from schedule.notices.sweep import sweep
from tests.builders import make_clue, make_participant, make_post, make_question
from tests.conftest import signed_in
from tests.photo_files import encoded
from tests.web.crowd.pages import at
from tests.web.test_photo_hostile import ACCEPTED, REFUSED

SCRIPT = "<script>alert('canary')</script><img src=x onerror=alert(1)>"
QUOTED = '" onmouseover="alert(1)" \' autofocus onfocus=\'alert(1)'
SVG = b"<svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>"


@pytest.fixture
def clue(knit_along):
    return make_clue(knit_along)


def photo(data, name="IMG_1.jpg", kind="image/jpeg"):
    return SimpleUploadedFile(name, data, content_type=kind)


def flat():
    return Image.new("RGB", (200, 150), (120, 80, 60))


@pytest.mark.parametrize("evil", [SCRIPT, QUOTED])
def test_script_in_every_text_field_stays_text(as_kit, as_hana, kit, mia, knit_along, clue, evil):
    User.objects.filter(pk=kit.user_id).update(name=evil[:60])
    sent = {"about": "1", "words": evil, "alt": evil, "photo": photo(encoded(flat(), "JPEG"))}
    as_kit.post(at(knit_along, "new_post"), sent)
    as_kit.post(at(knit_along, "ask"), {"about": "1", "words": evil})
    post, question = Post.objects.get(), Question.objects.get()
    as_kit.post(at(knit_along, "answer_question", question.key), {"words": evil})
    answer = Answer.objects.get()
    mias = make_post(mia, clue)
    as_kit.post(at(knit_along, "report", "post", mias.key), {"reason": evil})
    as_hana.post(at(knit_along, "note_answer", answer.key))
    as_hana.post(
        at(knit_along, "moderate", "post", mias.key), {"act": "hide", "reason": evil}, follow=True
    )
    as_hana.post(at(knit_along, "moderate", "post", post.key), {"act": "block", "reason": evil})
    edit = f"{at(knit_along, 'edit_clue', 1)}?answer={answer.key}"
    pages = [
        as_hana.get(address).content.decode()
        for address in (
            *(at(knit_along, name) for name in ("progress", "questions")),
            f"{at(knit_along, 'desk_questions')}?state=all",
            at(knit_along, "post", post.key),
            at(knit_along, "question", question.key),
            *(f"{at(knit_along, 'moderation')}?list={name}" for name in ("hidden", "blocked")),
            *(at(knit_along, "moderate", "post", thing.key) for thing in (post, mias)),
            at(knit_along, "clue", 1),
            reverse("kal:audit_log", args=[knit_along.slug]),
            edit,
        )
    ]
    pages.append(signed_in(mia.user).get(at(knit_along, "post", mias.key)).content.decode())
    pages.append(as_kit.post(at(knit_along, "ask"), {"about": "1", "words": evil}).content.decode())
    for shown in pages:
        assert "alert(" in shown
        for live in ("<script>alert", "<img src=x", '" onmouseover="', "' autofocus"):
            assert live not in shown


@pytest.mark.parametrize("name", [*REFUSED, "a drawing with a script", "a page and picture in one"])
def test_what_is_no_photo_is_refused_and_nothing_kept(as_kit, knit_along, clue, name):
    more = {"a drawing with a script": SVG, "a page and picture in one": b"GIF89a/*" + SVG}
    data = more[name] if name in more else REFUSED[name][0]
    sent = {"about": "1", "alt": "A wing", "words": "Typed words", "photo": photo(data)}
    answer = as_kit.post(at(knit_along, "new_post"), sent)
    assert answer.status_code == 422
    assert "Typed words" in answer.content.decode()
    assert not Post.objects.exists()
    assert not default_storage.exists(PHOTO_FOLDER)


def test_what_is_hidden_behind_a_photo_is_gone(as_kit, knit_along, clue, settings):
    tail = SVG + b"PK\x03\x04<?php canary"
    whole = encoded(flat(), "JPEG", comment=b"<script>alert(1)</script>") + tail
    # What unpacks to far too much may be refused: tests/web/test_photo_hostile.py.
    hostile = {name: data for name, data in ACCEPTED.items() if "nothing" not in name}
    hostile["a tail"] = whole
    for name, data in hostile.items():
        sent = {"about": "1", "alt": "A wing", "photo": photo(data, "evil.svg", "image/svg+xml")}
        answer = as_kit.post(at(knit_along, "new_post"), sent)
        assert answer.status_code == 302, (name, answer.content.decode().partition("<main")[2])
    assert Post.objects.count() == len(hostile)
    for path in (settings.MEDIA_ROOT / PHOTO_FOLDER).rglob("*"):
        if path.is_file():
            data = path.read_bytes()
            for trace in (b"script", b"<svg", b"canary", b"PK\x03\x04"):
                assert trace not in data


def test_ten_megabytes_of_text_are_turned_away(as_kit, as_hana, mia, knit_along, clue):
    question, post = make_question(mia, clue), make_post(mia, clue)
    long = "x" * 10_000_000
    forms = {
        at(knit_along, "new_post"): {"about": "1", "words": long},
        at(knit_along, "ask"): {"about": "1", "words": long},
        at(knit_along, "answer_question", question.key): {"words": long},
        at(knit_along, "report", "post", post.key): {"reason": long},
    }
    for address, sent in forms.items():
        assert as_kit.post(address, sent).status_code in (400, 413)
    decide = at(knit_along, "moderate", "post", post.key)
    assert as_hana.post(decide, {"act": "hide", "reason": long}).status_code in (400, 413)
    assert (Post.objects.count(), Question.objects.count()) == (1, 1)
    assert not Answer.objects.exists()
    assert not Report.objects.exists()


def test_no_mail_is_bent_by_what_was_asked(as_hana, as_kit, kit, knit_along, clue, mailoutbox):
    evil = "Hello {question} {my_question}\nBcc: all@knitters.example\n\n<b>{stop}</b>"
    as_kit.post(at(knit_along, "ask"), {"about": "1", "words": evil})
    question = Question.objects.get()
    as_hana.post(at(knit_along, "answer_question", question.key), {"words": "No."})
    sweep(clock=timezone.now)
    (message,) = [m for m in mailoutbox if "has an answer" in m.subject]
    assert message.recipients() == [kit.user.email]
    assert "Bcc" not in message.message()
    assert "{question} {my_question}" in message.body
    assert "{stop}" in message.body
    assert "&lt;b&gt;" in message.alternatives[0][0]


def test_moderators_learn_nothing_by_other_names_of_things(knit_along, clue, mia):
    """A key in another case or form is the same thing or none."""
    moderator = signed_in(make_participant(knit_along, "Mo", Role.MODERATOR).user)
    post = make_post(mia, clue)
    for key in (str(post.key).upper(), post.key.hex, f"{post.key}%00", post.pk):
        address = f"{at(knit_along, 'moderation')}post/{key}/"
        assert moderator.get(address).status_code == 404
