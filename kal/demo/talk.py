"""What the crowd shows and asks: drawn knitting of their own yarns, questions, and one report."""

from datetime import datetime, timedelta

import numpy as np
from django.db.models import F, Max

from kal.demo.events import Event
from kal.demo.people import NEWCOMER
from kal.models import KnitAlong, Participant, Role
from palettes.colour.spaces import linear_to_srgb
from palettes.colour.swatch import Fabric
from palettes.colour.textures import SURFACES, Texture, chart_of, knit
from palettes.models import Registration
from palettes.photos import Picture, encode_png, read_photo, to_levels
from schedule.actions.ask import answer_question, ask_question, put_in_notes
from schedule.actions.moderate import report
from schedule.actions.post import add_post
from schedule.models import Clue, Notice, Opening
from schedule.notices.kinds import ANSWER

ROWS, STITCHES = 44, 34
# Pixels of table around the knitting, and the light of the table.
MARGIN, TABLE = 36, 0.42
AFTER = timedelta(days=1)  # of the clue's coming out, the first of them; then one every two hours
EVERY = timedelta(hours=2)

# Which clue, from the first; how it is worked; words; what the photo shows, '' for no photo.
SHAWL_POSTS = (
    (0, Texture.RIDGES, "The neck is done, and the spine runs straight. I counted ridges aloud, "
     "which the cat did not care for.", "The first ridges of a shawl, in two colours"),
    (0, None, "Cast on tonight, after a week of winding. Slow and happy.", ""),
    (1, Texture.SLIP_STITCH, "Lamps! I chose the slipped way in the end; the singles sit better "
     "when the resting yarn is held loosely.", "Single bright stitches on a dark ground"),
    (1, Texture.STRIPE, "The plain way for me. My lamps are a line of light.",
     "A narrow bright stripe in a dark fabric"),
    (2, Texture.MOSAIC, "The tide is in. Eight ridges go faster than they look.",
     "A broad band of one colour with a thin light line across it"),
    (2, None, "I have weighed what is left, as the clue says: enough, by nine grams.", ""),
)  # fmt: skip
SCARF_POSTS = (
    (0, Texture.RIB, "Bark, and it does look like bark.", "A ribbed strip in two colours"),
    (-1, Texture.THREE_SLIP, "Off the blocking mat, and longer than I am.",
     "A finished scarf in three colours, laid out flat"),
    (-1, Texture.THREE_RIDGES, "Done. I wore it to the post office and was asked about it twice.",
     "A folded scarf with ridges in three colours"),
)  # fmt: skip
QUESTIONS = (
    (0, "Do I count the three border stitches of each side in the stitch count?",
     "Yes: three, a panel, the spine, a panel, three. After the first ridge that makes thirteen."),
    (0, "May I use a longer cable than the one named? Mine is 80 cm.", ""),
    (1, "I have one stitch too many before the spine after the first lamp ridge. What did I miss?",
     "Most often a yarn over that was worked twice on the way back. Count the left panel first."),
    (2, "Is the light line meant to show on the wrong side too?", ""),
)  # fmt: skip
RUDE = "Honestly, who cannot count to thirteen should not be knitting shawls."
WHY = "That is unkind to whoever asked. Please have a look."


def talk(event: Event, knit_along: KnitAlong, *, now: datetime) -> None:
    """Store posts, questions and a report about the clues that are out at `now`.

    While it runs everybody has opened the first two at most: so some covers are shown.
    """
    out = list(Clue.objects.out(now).filter(knit_along=knit_along).order_by("number"))
    crowd = knitters(knit_along)
    is_over = event.closes_palettes
    open_clues(crowd, out if is_over else out[: min(len(out) - 1, 2)])
    show_progress(SCARF_POSTS if is_over else SHAWL_POSTS, crowd, out, now=now)
    if not is_over:
        ask_around(crowd, out, knit_along, now=now)


def knitters(knit_along: KnitAlong) -> list[Participant]:
    """Return everybody but those who look after it, whoever signs in as a newcomer first."""
    found = knit_along.participants.select_related("user", "knit_along").order_by("pk")
    return sorted(found.exclude(role=Role.ORGANISER), key=lambda p: p.user.email != NEWCOMER.email)


def open_clues(crowd: list[Participant], clues: list[Clue]) -> None:
    newest = [clue.revision for clue in clues]
    Opening.objects.bulk_create(
        [Opening(participant=who, revision=found) for found in newest if found for who in crowd],
        ignore_conflicts=True,
    )


def show_progress(posts, crowd: list[Participant], out: list[Clue], *, now: datetime) -> None:  # type: ignore[no-untyped-def]
    last = out[-1].knit_along.clues.aggregate(last=Max("number"))["last"] if out else None
    shown = registered(crowd)
    for place, (about, texture, words, alt) in enumerate(posts):
        if about >= len(out):
            continue
        author, registration = shown[place]
        clue = out[about]
        add_post(
            author,
            clue=clue,
            words=words,
            picture=drawn(registration, texture, seed=place) if texture else None,
            alt=alt,
            is_finished=about < 0 and clue.number == last,
            now=min(clue.release_at + AFTER + place * EVERY, now),
        )


def registered(crowd: list[Participant]) -> list[tuple[Participant, Registration]]:
    """Return those with a registered palette, after the first few, who have other parts to play."""
    current = Registration.objects.filter(palette__participant__in=crowd, is_current=True)
    found = {one.palette.participant_id: one for one in current.select_related("palette")}
    return [(who, found[who.pk]) for who in crowd[4:] if who.pk in found]


def drawn(registration: Registration, texture: Texture, *, seed: int) -> Picture:
    """Return a picture of knitting on a table, in the yarns of a palette."""
    knitted = knit(
        chart_of(texture, rows=ROWS, stitches=STITCHES),
        [yarn.swatch() for yarn in registration.chosen],
        Fabric(),
        surface=SURFACES[texture],
        seed=seed,
    )
    height, width = knitted.shape[:2]
    table = np.full((height + 2 * MARGIN, width + 2 * MARGIN, 3), TABLE)
    table[MARGIN:-MARGIN, MARGIN:-MARGIN] = knitted
    return read_photo(encode_png(to_levels(linear_to_srgb(table))))


def ask_around(
    crowd: list[Participant], out: list[Clue], knit_along: KnitAlong, *, now: datetime
) -> None:
    """Ask; the host answers some and shows one with its clue; one answer is rude and reported."""
    host = knit_along.participants.select_related("user").get(role=Role.ORGANISER)
    asked = []
    for place, (about, words, answer) in enumerate(QUESTIONS):
        if about >= len(out):
            continue
        at = min(out[about].release_at + AFTER + place * EVERY, now)
        question = ask_question(crowd[10 + place], clue=out[about], words=words, now=at)
        asked.append(question)
        if answer:
            put_in_notes(
                answer_question(question, words=answer, by=host, now=at), by=host.user, now=at
            )
    if asked:
        rude = answer_question(asked[0], words=RUDE, by=crowd[20], now=asked[0].at + EVERY)
        report(rude, reason=WHY, by=crowd[21], now=min(rude.at + EVERY, now))
    # Mailed in their time, so nobody is mailed today.
    told = Notice.objects.filter(kind=ANSWER.name, participant__knit_along=knit_along)
    told.update(sent_at=now, attempts=F("attempts") + 1)
