"""Rows with sensible defaults for tests; every keyword may be given instead."""

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from itertools import count
from typing import Any

from kal.models import KnitAlong, LetterNeed, Participant, Role, User
from palettes.actions import register_palette
from palettes.models import Kit, KitMaker, KitYarn, Palette, Registration, Yarn
from schedule.models import Answer, Clue, Meeting, Post, Question, Revision

NOON = datetime(2027, 3, 1, 12, tzinfo=UTC)
_numbers = count(1)

# What a clue's form sends beside its boxes: lists of no sections, no meetings and no videos.
NO_ROWS = {
    f"{name}-{count}_FORMS": 0
    for name in ("sections", "meetings", "videos")
    for count in ("TOTAL", "INITIAL")
}


def make_user(name: str = "Kit", **fields: Any) -> User:
    """Return a stored person; the address is made of the name and a running number."""
    fields.setdefault("email", f"{name.lower()}{next(_numbers)}@knitters.example")
    return User.objects.create_user(name=name, **fields)


def make_knit_along(**fields: Any) -> KnitAlong:
    """Return a stored public knit-along of five colours, cast-on at NOON, sign-up open before."""
    number = next(_numbers)
    defaults: dict[str, Any] = {
        "slug": f"harbour-{number}",
        "title": f"Harbour Lights {number}",
        "zone": "Europe/Lisbon",
        "sign_up_opens_at": NOON - timedelta(days=60),
        "sign_up_closes_at": NOON + timedelta(days=30),
        "cast_on_at": NOON,
        "is_public": True,
    }
    knit_along = KnitAlong.objects.create(**(defaults | fields))
    LetterNeed.objects.bulk_create(
        LetterNeed(knit_along=knit_along, letter=letter) for letter in knit_along.letters
    )
    return knit_along


def make_participant(
    knit_along: KnitAlong, name: str = "Kit", role: str = Role.PARTICIPANT, **fields: Any
) -> Participant:
    """Return a stored participant with a user of their own unless `user` is given."""
    user = fields.pop("user", None) or make_user(name)
    return Participant.objects.create(user=user, knit_along=knit_along, role=role, **fields)


def make_palette(participant: Participant) -> Palette:
    """Return the participant's stored, empty palette."""
    return Palette.objects.create(participant=participant)


def make_yarn(palette: Palette, **fields: Any) -> Yarn:
    """Return a stored mid-blue solid yarn, 50 g and 200 m a ball, two balls."""
    defaults: dict[str, Any] = {
        "name": f"Yarn {next(_numbers)}",
        "lab_l": 45.0,
        "lab_a": -5.0,
        "lab_b": -30.0,
        "put_up_grams": 50,
        "put_up_metres": 200,
        "balls": 2,
    }
    return Yarn.objects.create(palette=palette, **(defaults | fields))


def make_clue(
    knit_along: KnitAlong, number: int = 1, body: str = "Cast on 5.", **fields: Any
) -> Clue:
    """Return a stored, ready clue with one revision, out a week a number after cast-on."""
    defaults: dict[str, Any] = {
        "title": f"Clue title {number}",
        "release_at": knit_along.cast_on_at + timedelta(weeks=number - 1),
        "ready_at": knit_along.cast_on_at - timedelta(days=30),
    }
    clue = Clue.objects.create(knit_along=knit_along, number=number, **(defaults | fields))
    Revision.objects.create(clue=clue, number=1, body=body, saved_at=clue.release_at)
    return clue


def make_meeting(clue: Clue, letters: str, needs: str = "workable", **fields: Any) -> Meeting:
    """Return a stored meeting of two letters, like "AB", in the newest revision of a clue."""
    first, second = tuple(letters)
    return Meeting.objects.create(
        revision=clue.revisions.latest("number"), first=first, second=second, needs=needs, **fields
    )


def make_registration(
    participant: Participant, levels: Sequence[float] = (20, 40, 60, 75, 92), spares: int = 0
) -> Registration:
    """Return the participant's palette as registered: greys of these L*, named "Grey 20" …

    The last `spares` of them are spares.
    """
    palette, _ = Palette.objects.get_or_create(participant=participant)
    palette.yarns.all().delete()
    for position, level in enumerate(levels):
        is_spare = position >= len(levels) - spares
        make_yarn(
            palette,
            name=f"Grey {level:g}",
            lab_l=level,
            lab_a=0,
            lab_b=0,
            position=position,
            place=Yarn.Place.SPARE if is_spare else Yarn.Place.CHOSEN,
        )
    return register_palette(palette, now=NOON - timedelta(days=1))[0]


def make_kit_maker(knit_along: KnitAlong, name: str = "Dora", **fields: Any) -> KitMaker:
    """Return a shop's stored invitation; its address is made of the name and a running number."""
    fields.setdefault("email", f"{name.lower()}{next(_numbers)}@knitters.example")
    return KitMaker.objects.create(
        knit_along=knit_along, **({"name": f"{name}'s dye shed", "invited_at": NOON} | fields)
    )


def make_kit(
    knit_along: KnitAlong, levels: Sequence[float] = (20, 40, 60, 75, 92), **fields: Any
) -> Kit:
    """Return a stored draft of a kit: greys of these L*, named "Kit 20" …, 100 g of each."""
    maker = fields.pop("maker", None) or make_kit_maker(knit_along)
    defaults: dict[str, Any] = {"title": f"Greys {next(_numbers)}", "said_at": NOON}
    kit = Kit.objects.create(maker=maker, **(defaults | fields))
    KitYarn.objects.bulk_create(
        KitYarn(
            kit=kit,
            name=f"Kit {level:g}",
            position=position,
            lab_l=level,
            lab_a=0,
            lab_b=0,
            put_up_grams=50,
            put_up_metres=200,
            balls=2,
        )
        for position, level in enumerate(levels)
    )
    return kit


def make_post(author: Participant, clue: Clue, **fields: Any) -> Post:
    """Return a stored post of words; `photo` is a folder of copies, described by `alt`."""
    if fields.get("photo"):
        fields = {"width": 480, "height": 360, "alt": "A wing on a table"} | fields
    defaults: dict[str, Any] = {"words": "Half of it is done.", "at": NOON}
    return Post.objects.create(author=author, clue=clue, **(defaults | fields))


def make_question(author: Participant, clue: Clue, **fields: Any) -> Question:
    """Return a stored question about a clue."""
    defaults: dict[str, Any] = {"words": "Which side is the right one?", "at": NOON}
    return Question.objects.create(author=author, clue=clue, **(defaults | fields))


def make_answer(author: Participant, question: Question, **fields: Any) -> Answer:
    """Return a stored answer to a question."""
    defaults: dict[str, Any] = {"words": "The one with the ridges.", "at": NOON}
    return Answer.objects.create(author=author, question=question, **(defaults | fields))
