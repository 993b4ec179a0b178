"""A knit-along with three clues that must not be read, and everybody who would like to.

The clock stands one second before the instant of clue 1, which is ready. Clue 2 is late because
it is not ready, clue 3 because it is held.
"""

import logging
import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

import pytest
import time_machine
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.test import Client

from kal.models import BuyersImport, CodeBatch, JoinCode, KnitAlong, Participant, Role
from kal.views.desk_parts import FIGURES
from palettes.models import Kit, KitMaker, KitYarn, Palette, Yarn
from schedule.actions import comment_on_line, keep_words
from schedule.actions.feed_keys import renew_feed_key
from schedule.models import (
    Answer,
    Attachment,
    Clue,
    ClueSection,
    CountedPart,
    EarlierWords,
    GlossaryEntry,
    LetterUse,
    Meeting,
    Post,
    Question,
    Report,
    Revision,
    VideoLink,
    Way,
)
from schedule.models.post import COPIES, path_of
from schedule.notices.emails import unsubscribe_token
from tests.builders import (
    NOON,
    make_answer,
    make_clue,
    make_kit,
    make_kit_maker,
    make_knit_along,
    make_palette,
    make_participant,
    make_post,
    make_question,
    make_user,
    make_yarn,
)
from tests.conftest import signed_in

SECOND = timedelta(seconds=1)
FILE_BYTES = 48_613  # a size that nothing else on a page has
SIZE_AS_READ = "47.5\xa0KB"


@dataclass(frozen=True)
class Secret:
    """What of one clue must not be seen, each a text that occurs nowhere else."""

    body: str
    title: str
    file_name: str
    alt: str
    content: str
    grams: str
    section: str
    way: str
    other_way: str
    technique: str
    video: str
    glossary: str
    note: str
    unsaved: str
    comment: str
    post: str
    post_before: str
    post_alt: str
    post_photo: str
    question: str
    answer: str
    report: str
    size: str = str(FILE_BYTES)
    size_as_read: str = SIZE_AS_READ

    @classmethod
    def of(cls, number: int) -> "Secret":
        return cls(
            body=f"canarybody{number}",
            title=f"canarytitle{number}",
            file_name=f"canaryname{number}",
            alt=f"canaryalt{number}",
            content=f"canarycontent{number}",
            grams=f"7{number}31.7",
            section=f"canarysection{number}",
            way=f"canaryway{number}",
            other_way=f"canaryother{number}",
            technique=f"canarytechnique{number}",
            video=f"canaryvideo{number}",
            glossary=f"canarymeaning{number}",
            note=f"canarynote{number}",
            unsaved=f"canaryunsaved{number}",
            comment=f"canarycomment{number}",
            post=f"canarypost{number}",
            post_before=f"canarybefore{number}",
            post_alt=f"canarydescribed{number}",
            post_photo=f"canaryphoto{number}",
            question=f"canaryquestion{number}",
            answer=f"canaryanswer{number}",
            report=f"canaryreport{number}",
        )

    @property
    def all(self) -> list[bytes]:
        return [value.encode() for value in vars(self).values()]

    @property
    def sizes(self) -> set[str]:
        return {self.size, self.size_as_read}

    @property
    def on_its_page(self) -> list[str]:
        """What a participant finds on the clue's page once it is out."""
        elsewhere = {self.content, self.size, self.unsaved, self.comment}
        elsewhere |= {self.post, self.post_before, self.post_alt, self.post_photo, self.report}
        return [value for value in vars(self).values() if value not in elsewhere]


@dataclass(frozen=True)
class World:
    knit_along: KnitAlong
    secrets: Mapping[int, Secret]
    readers: Mapping[str, Client]
    fillers: Mapping[str, list[Any]]
    feed_token: str


@pytest.fixture(autouse=True)
def few_words(caplog):
    """Thousands of addresses are not found here; that is the point, and no news."""
    caplog.set_level(logging.ERROR, "django.request")


@pytest.fixture
def clock():
    with time_machine.travel(NOON - SECOND, tick=False) as traveller:
        yield traveller


@pytest.fixture
def world(db, clock) -> World:
    knit_along = make_knit_along()
    early = {1: NOON, 2: NOON - timedelta(days=2), 3: NOON - timedelta(days=1)}
    states: dict[int, dict[str, Any]] = {1: {}, 2: {"ready_at": None}, 3: {"is_held": True}}
    secrets = {number: Secret.of(number) for number in early}
    for number, instant in early.items():
        fill(make_clue(knit_along, number, release_at=instant, **states[number]), secrets[number])
    hana = make_participant(knit_along, "Hana", Role.ORGANISER)
    for clue in knit_along.clues.all():
        comment_on_line(
            clue.revisions.latest("number"),
            (0, 0, 1),
            quoted=secrets[clue.number].body,
            text=secrets[clue.number].comment,
            by=hana,
            now=NOON,
        )
        keep_words(
            clue, {"body": [secrets[clue.number].unsaved]}, began_from=2, by=hana.user, now=NOON
        )
    co = make_participant(knit_along, "Co", Role.CO_ORGANISER)
    for clue in knit_along.clues.all():
        talk_about(clue, secrets[clue.number], co)
    people = {
        "participant": make_participant(knit_along, "Kit", shows_palette=True),
        "moderator": make_participant(knit_along, "Mo", Role.MODERATOR),
        "somebody who left": make_participant(knit_along, "Gone", left_at=NOON - SECOND),
    }
    make_yarn(make_palette(people["participant"]))
    JoinCode.objects.create(knit_along=knit_along, code="HARBOUR")
    CodeBatch.objects.create(knit_along=knit_along, label="parcels", made_at=NOON)
    BuyersImport.objects.create(knit_along=knit_along, file_name="shop.csv", read_at=NOON)
    people["kit maker"] = dora = make_participant(knit_along, "Dora")
    maker = make_kit_maker(knit_along, email=dora.user.email)
    make_kit(knit_along, maker=maker, state=Kit.State.APPROVED)
    make_kit(knit_along, maker=maker)
    readers = {name: signed_in(person.user) for name, person in people.items()}
    readers |= {"stranger": signed_in(make_user("Sam")), "visitor": Client()}
    token = renew_feed_key(people["participant"], now=NOON).token
    return World(knit_along, secrets, readers, fillers_for(knit_along, token), token)


def fill(clue: Clue, secret: Secret) -> None:
    """Give a clue two revisions, a PDF and an image, all of them secret."""
    Clue.objects.filter(pk=clue.pk).update(title=secret.title)
    first = Revision.objects.get(clue=clue)
    first.attachments.add(attach(clue, secret, "pdf", "application/pdf"))
    second = Revision.objects.create(
        clue=clue,
        number=2,
        title=secret.title,
        body=secret.body,
        note=secret.note,
        saved_at=NOON - SECOND,
    )
    second.attachments.add(attach(clue, secret, "pdf", "application/pdf"))
    second.attachments.add(attach(clue, secret, "image", "image/webp"))
    LetterUse.objects.create(revision=second, letter="A", grams=secret.grams)
    fill_sections(clue, second, secret)


def talk_about(clue: Clue, secret: Secret, early: Participant) -> None:
    """Let an early reader show how far they are, ask and be answered, and have it reported."""
    folder = f"{clue.number}" * 32
    for copy in COPIES:
        default_storage.save(path_of(folder, copy), ContentFile(secret.post_photo.encode()))
    post = make_post(early, clue, words=secret.post, photo=folder, alt=secret.post_alt)
    EarlierWords.objects.create(post=post, clue=clue, words=secret.post_before, at=NOON)
    question = make_question(early, clue, words=secret.question)
    question.in_notes = make_answer(early, question, words=secret.answer)
    question.save()
    Report.objects.create(reporter=early, post=post, reason=secret.report, at=NOON)


def fill_sections(clue: Clue, revision: Revision, secret: Secret) -> None:
    section = ClueSection.objects.create(revision=revision, position=1, title=secret.section)
    short = f"zz{clue.number}"
    for position, body in enumerate((f"{secret.way}, {short}", secret.other_way), start=1):
        Way.objects.create(
            section=section, position=position, body=body, technique=secret.technique
        )
    CountedPart.objects.create(section=section, position=1, start=9, name=secret.section)
    Meeting.objects.create(revision=revision, first="A", second="B", technique=secret.technique)
    VideoLink.objects.create(
        revision=revision, position=1, title=secret.video, url=f"https://{secret.video}.example/"
    )
    GlossaryEntry.objects.create(knit_along=clue.knit_along, short=short, meaning=secret.glossary)


def attach(clue: Clue, secret: Secret, kind: str, content_type: str) -> Attachment:
    file = Attachment(
        clue=clue,
        kind=kind,
        name=f"{secret.file_name}.{kind}",
        alt=secret.alt,
        content_type=content_type,
        size=FILE_BYTES,
    )
    content = secret.content.encode().ljust(FILE_BYTES, b".")
    file.file.save("", ContentFile(content), save=False)
    file.save()
    return file


def fillers_for(knit_along: KnitAlong, feed_token: str) -> dict[str, list[Any]]:
    """Return values for every argument a route of the site takes."""
    hidden = [clue.attachments.latest("pk") for clue in knit_along.clues.all()]
    dropped = Attachment.objects.earliest("pk")
    keys = [file.key for file in (*hidden, dropped)]
    rows = (BuyersImport, Clue, CodeBatch, JoinCode, Kit, KitMaker, KitYarn, Palette, Yarn)
    said = [row.key for kind in (Post, Question, Answer) for row in kind.objects.all()]
    pks = {hidden[0].pk, *(model.objects.latest("pk").pk for model in rows)}
    kit = Participant.objects.get(user__name="Kit")
    return {
        "slug": [knit_along.slug],
        "revision": [1, 2, 3],
        "number": [0, 1, 2, 3, 99],
        "figure": [*FIGURES, "nothing"],
        "key": [*keys, *said, uuid.UUID(int=0)],
        "kind": ["post", "question", "answer", "none"],
        "copy": ["480.webp", "1000.jpeg", "none"],
        "pk": sorted(pks | {max(pks) + 1}),
        "token": [unsubscribe_token(kit.pk), kit.token, feed_token, "no-token"],
    }
