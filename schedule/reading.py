"""A clue as a page shows it to one reader."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from kal.models import KnitAlong, Participant, User
from kal.units import weight_text
from schedule.content import EMPTY, Content, content_of
from schedule.models import Clue
from schedule.models.clue import ClueQuerySet
from schedule.visibility import readable_clues


@dataclass(frozen=True)
class OpenClue:
    """One clue and its content; `uses` are weights in the reader's units, by letter."""

    number: int
    title: str
    release_at: datetime
    is_out: bool
    content: Content
    uses: tuple[tuple[str, str], ...]
    previous: int | None
    next: int | None


def open_clue(participant: Participant, number: int, now: datetime) -> OpenClue | None:
    """Return the clue with that number if the participant may read it at `now`, else None."""
    return _opened(
        readable_clues(participant, now),
        number,
        knit_along=participant.knit_along,
        reader=participant.user,
        now=now,
    )


def preview_clue(organiser: Participant, number: int) -> OpenClue | None:
    """Return the clue as participants will find it at its own instant, whatever its state."""
    clues = Clue.objects.filter(knit_along=organiser.knit_along_id, number__lte=number)
    at = max((clue.release_at for clue in clues), default=None)
    if at is None:
        return None
    return _opened(clues, number, knit_along=organiser.knit_along, reader=organiser.user, now=at)


def _opened(
    readable: ClueQuerySet, number: int, *, knit_along: KnitAlong, reader: User, now: datetime
) -> OpenClue | None:
    clues = list(readable.order_by("number"))
    numbers = [clue.number for clue in clues]
    if number not in numbers:
        return None
    place = numbers.index(number)
    clue = clues[place]
    content = EMPTY
    if clue.newest_key:
        content = content_of(clue.newest_key, knit_along.slug, number)
    imperial = reader.units == User.Units.IMPERIAL
    return OpenClue(
        number=number,
        title=clue.title,
        release_at=clue.release_at,
        is_out=clue.is_out(now),
        content=content,
        uses=tuple(
            (letter, weight_text(grams, imperial=imperial)) for letter, grams in content.uses
        ),
        previous=_at(numbers, place - 1),
        next=_at(numbers, place + 1),
    )


def _at(numbers: Sequence[int], place: int) -> int | None:
    return numbers[place] if 0 <= place < len(numbers) else None
