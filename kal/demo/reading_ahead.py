"""The test knitter reads ahead: she comments, the host answers, and she signs off what she can."""

from datetime import timedelta

from kal.models import KnitAlong, Participant, User
from schedule.actions import answer_comment, comment_on_line, sign_off, write_glossary
from schedule.models import Clue, ReaderComment
from schedule.read_through import ReadThrough, read_through

READ_AFTER = timedelta(days=2)  # of the writing

MEANINGS = {
    "k": "knit",
    "sl": "slip as if to purl",
    "yo": "yarn over: bring the yarn over the needle, one stitch more",
    "st": "stitch",
}


def explain_abbreviations(knit_along: KnitAlong, host: User) -> None:
    write_glossary(knit_along, MEANINGS, by=host, now=knit_along.created_at)


def read_ahead(knit_along: KnitAlong, reader: User, host: User) -> None:
    """Sign off every written clue but the last two; ask something of each of those."""
    who = Participant.objects.select_related("user").get(user=reader, knit_along=knit_along)
    written = [clue for clue in knit_along.clues.all() if clue.is_written]
    for clue in written[:-2]:
        through = read_through(clue)
        assert through is not None
        at = through.revision.saved_at + READ_AFTER
        sign_off(clue, through.revision.number, by=who, now=at)
    for clue, answer in zip(written[-2:], ("Yes, each of them; I will say so.", ""), strict=True):
        asked = ask_about_ends(clue, who)
        if answer:
            answer_comment(asked, answer=answer, resolved=True, by=host, now=asked.written_at)


def ask_about_ends(clue: Clue, who: Participant) -> ReaderComment:
    through = read_through(clue)
    assert through is not None
    line = last_line(through)
    return comment_on_line(
        through.revision,
        line[0],
        quoted=line[1],
        text="My count agrees. Should it say here to weave the ends in now, while they are fresh?",
        by=who,
        now=through.revision.saved_at + READ_AFTER,
    )


def last_line(through: ReadThrough) -> tuple[tuple[int, int, int], str]:
    line = through.texts[-1].lines[-1]
    return line.place, line.text
