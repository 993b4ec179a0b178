"""Whatever is out, opened and said "show me" to, nobody is shown more than their clues."""

from contextlib import contextmanager
from dataclasses import dataclass
from datetime import timedelta

import pytest
import time_machine
from django.core import mail
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db import transaction
from django.urls import reverse
from django.utils import timezone
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from kal.models import Role
from schedule.actions.ask import answer_question
from schedule.actions.feed_keys import renew_feed_key
from schedule.actions.post import edit_post, show_me
from schedule.models import Opening, Post, Question
from schedule.models.post import COPIES, path_of
from schedule.notices.sweep import sweep
from tests.builders import (
    NOON,
    make_answer,
    make_clue,
    make_knit_along,
    make_participant,
    make_post,
    make_question,
)
from tests.conftest import signed_in

WEEK = timedelta(weeks=1)
CLUES = 4


@dataclass(frozen=True)
class Said:
    """A post or a question about one clue, and whether the viewer said "show me" to it.

    A post with a clue that it was `first` tagged with is edited after that, in words and all.
    """

    clue: int
    is_shown: bool
    is_post: bool
    is_finished: bool
    first: int | None

    @property
    def is_moved(self) -> bool:
        return self.is_post and self.first not in (None, self.clue)


@dataclass(frozen=True)
class Case:
    """How many clues are out, which of them the viewer opened, their role, and what was said."""

    out: int
    opened: frozenset[int]
    role: str
    said: tuple[Said, ...]

    def is_open(self, said: Said) -> bool:
        # Who said "show me" meant the clue that the post was tagged with then.
        is_shown = said.is_shown and not said.is_moved
        return said.clue <= self.out and (said.clue in self.opened or is_shown)


numbers = st.integers(1, CLUES)
said = st.builds(Said, numbers, st.booleans(), st.booleans(), st.booleans(), st.none() | numbers)
cases = st.builds(
    Case,
    st.integers(0, CLUES),
    st.frozensets(st.integers(1, CLUES)),
    st.sampled_from([Role.PARTICIPANT, Role.MODERATOR]),
    st.lists(said, min_size=1, max_size=5).map(tuple),
)


@contextmanager
def undone():
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


class World:
    """The case as rows: an early reader says everything, one more participant is its viewer."""

    def __init__(self, case: Case) -> None:
        self.case = case
        self.knit_along = make_knit_along()
        self.clues = [make_clue(self.knit_along, number + 1) for number in range(CLUES)]
        self.early = make_participant(self.knit_along, "Edda", Role.CO_ORGANISER)
        self.viewer = make_participant(self.knit_along, "Kit", case.role)
        self.client = signed_in(self.viewer.user)
        for number in case.opened & set(range(1, case.out + 1)):
            newest = self.clues[number - 1].revisions.get()
            Opening.objects.create(participant=self.viewer, revision=newest)
        self.things = [self.say(place, said) for place, said in enumerate(case.said)]

    def say(self, place: int, said: Said) -> Post | Question:
        thing = self.show(place, said) if said.is_post else self.ask(place, said)
        if said.is_shown:
            show_me(self.viewer, thing)
        if isinstance(thing, Post) and said.first:
            edit_post(
                thing,
                clue=self.clues[said.clue - 1],
                words=f"canarywords{place}x",
                alt=f"canaryalt{place}x",
                is_finished=said.is_finished,
                now=timezone.now(),
            )
        return thing

    def show(self, place: int, said: Said) -> Post:
        folder = f"{place:032x}"
        for copy in COPIES:
            path = path_of(folder, copy)
            default_storage.delete(path)
            default_storage.save(path, ContentFile(f"canaryphoto{place}x".encode()))
        name = "canaryearlier" if said.first else "canary"
        return make_post(
            self.early,
            self.clues[(said.first or said.clue) - 1],
            words=f"{name}words{place}x",
            photo=folder,
            alt=f"{name}alt{place}x",
            is_finished=said.is_finished,
        )

    def ask(self, place: int, said: Said) -> Question:
        clue, words = self.clues[said.clue - 1], f"canarywords{place}x"
        question = make_question(self.early, clue, words=words)
        make_answer(self.early, question, words=f"canaryanswer{place}x")
        return question

    def at(self, name: str, *arguments: object) -> str:
        return reverse(f"schedule:{name}", args=[self.knit_along.slug, *arguments])

    def addresses(self):
        """Everything that could show any of it, but the clues themselves, which would open them."""
        token = renew_feed_key(self.viewer, now=NOON).token
        yield from (reverse("kal:home"), self.knit_along.get_absolute_url())
        yield from (self.at(name) for name in ("progress", "finished", "questions", "clues", "ask"))
        yield from (self.at(name, token) for name in ("calendar_feed", "news_feed"))
        for number in range(1, CLUES + 1):
            yield from (f"{self.at(name)}?clue={number}" for name in ("progress", "questions"))
        for thing, said in zip(self.things, self.case.said, strict=True):
            kind = "post" if said.is_post else "question"
            yield self.at(kind, thing.key)
            yield self.at("report", kind, thing.key)

    def seen(self) -> str:
        """All that the viewer is answered, as a page and as a fragment."""
        answers = [
            self.client.get(address, headers=headers)
            for address in self.addresses()
            for headers in ({}, {"HX-Request": "true"})
        ]
        return "".join(answer.content.decode() for answer in answers)

    def photo_of(self, thing) -> str:
        answers = [self.client.get(self.at("post_photo", thing.key, copy)) for copy in COPIES]
        return "".join(answer.content.decode() for answer in answers if answer.status_code == 200)


@pytest.mark.django_db
@given(case=cases)
@settings(
    max_examples=40,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
def test_words_photo_and_alt_text_are_seen_where_the_clue_was_opened_and_nowhere_else(case):
    instant = NOON + (case.out - 1) * WEEK + timedelta(hours=1)
    with time_machine.travel(instant, tick=False), undone():
        world = World(case)
        seen = world.seen()
        for place, (thing, said) in enumerate(zip(world.things, case.said, strict=True)):
            is_open = case.is_open(said)
            words = [f"canarywords{place}x"]
            words += [f"canary{'alt' if said.is_post else 'answer'}{place}x"]
            assert [word in seen for word in words] == [is_open] * 2, said
            # Who moderates may have every photo of a clue that is out, to decide about it.
            may_have = is_open or (case.role == Role.MODERATOR and said.clue <= case.out)
            if said.is_post:
                assert (f"canaryphoto{place}x" in world.photo_of(thing)) == may_have
            # Not even that there is something, before its clue is out.
            assert (str(thing.key) in seen) == (said.clue <= case.out)
        # What was said before an edit is there for those who moderate, on their own pages.
        assert "canaryearlier" not in seen


@pytest.mark.django_db
@given(numbers=st.lists(st.integers(1, CLUES), min_size=1, max_size=4))
@settings(
    max_examples=15,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
def test_no_mail_says_more_than_the_asker_s_own_question(numbers):
    with time_machine.travel(NOON + 4 * WEEK, tick=False), undone():
        mail.outbox.clear()
        knit_along = make_knit_along()
        clues = [make_clue(knit_along, number + 1) for number in range(CLUES)]
        asker, other = (make_participant(knit_along, name) for name in ("Kit", "Mia"))
        for place, number in enumerate(numbers):
            asked = make_question(asker, clues[number - 1], words=f"Own question {place}?")
            answer_question(asked, words=f"canary{place}", by=other, now=timezone.now())
            make_post(other, clues[number - 1], words=f"canary{place}")
        sweep(clock=timezone.now)
        sent = [str(message.message()) for message in mail.outbox]
        assert not any("canary" in text for text in sent)
        for place in range(len(numbers)):
            assert any(f"Own question {place}?" in text for text in sent)
