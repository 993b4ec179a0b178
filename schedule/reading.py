"""A clue as a page shows it to one reader."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from kal.models import Participant
from kal.units import weight_text
from palettes.translator import listed
from schedule.content import EMPTY, Content, ShownSection, ShownWay, content_of, show_draft
from schedule.drafts import Draft
from schedule.models import Clue, GlossaryEntry
from schedule.visibility import readable_now


@dataclass(frozen=True)
class OpenSection:
    """A section with the way its reader chose, and the others a click away."""

    key: str
    title: str
    way: ShownWay | None
    others: tuple[ShownWay, ...]
    last: str  # what the last way is called, or its technique, or ''


@dataclass(frozen=True)
class OpenClue:
    """One clue and its content; `uses` are letter, weight in the reader's units, and a word."""

    number: int
    title: str
    release_at: datetime
    is_out: bool
    revision: UUID | None
    content: Content
    uses: tuple[tuple[str, str, str], ...]
    sections: tuple[OpenSection, ...]
    previous: int | None
    next: int | None

    @property
    def has_choice(self) -> bool:
        return any(section.others for section in self.sections)

    @property
    def last_ways(self) -> str:
        """What the last ways are called where there is a choice, or '' when one has no name."""
        names = [section.last for section in self.sections if section.others]
        return listed(list(dict.fromkeys(names))) if all(names) else ""


def open_clue(participant: Participant, number: int, now: datetime) -> OpenClue | None:
    """Return the clue with that number if the participant may read it at `now`, else None."""
    return _opened(readable_now(participant, now), number, reader=participant, now=now)


def preview_clue(organiser: Participant, number: int) -> OpenClue | None:
    """Return the clue as participants will find it at its own instant, whatever its state."""
    clues = Clue.objects.filter(knit_along=organiser.knit_along_id, number__lte=number)
    at = max((clue.release_at for clue in clues), default=None)
    if at is None:
        return None
    return _opened(list(clues.order_by("number")), number, reader=organiser, now=at)


def try_draft(organiser: Participant, clue: Clue, draft: Draft) -> OpenClue:
    """Return a clue as participants would find it if the draft were saved."""
    files = clue.attachments.filter(pk__in=draft.attachments).order_by("pk")
    meanings = GlossaryEntry.objects.meanings(organiser.knit_along)
    content = show_draft(draft, files, organiser.knit_along.slug, clue.number, meanings)
    tried = Clue(number=clue.number, title=draft.title, release_at=clue.release_at)
    return _shown(tried, content, reader=organiser, is_out=True, previous=None, following=None)


def _opened(
    clues: Sequence[Clue], number: int, *, reader: Participant, now: datetime
) -> OpenClue | None:
    numbers = [clue.number for clue in clues]
    if number not in numbers:
        return None
    place = numbers.index(number)
    clue = clues[place]
    content = EMPTY
    if clue.newest_key:
        slug = reader.knit_along.slug
        content = content_of(clue.newest_key, slug, number, clue.glossary_key, clue.notes_key)
    return _shown(
        clue,
        content,
        reader=reader,
        is_out=clue.is_out(now),
        previous=_at(numbers, place - 1),
        following=_at(numbers, place + 1),
    )


def _shown(
    clue: Clue,
    content: Content,
    *,
    reader: Participant,
    is_out: bool,
    previous: int | None,
    following: int | None,
) -> OpenClue:
    imperial, notes = reader.user.reads_imperial, content.use_notes or {}
    return OpenClue(
        number=clue.number,
        title=clue.title,
        release_at=clue.release_at,
        is_out=is_out,
        revision=clue.newest_key,
        content=content,
        uses=tuple(
            (letter, weight_text(grams, imperial=imperial), notes.get(letter, ""))
            for letter, grams in content.uses
        ),
        sections=tuple(_section(section, reader) for section in content.sections),
        previous=previous,
        next=following,
    )


def _section(section: ShownSection, reader: Participant) -> OpenSection:
    """Put the way that the reader chose first, or else the one of their general wish."""
    ways = {way.key: way for way in section.ways}
    wished = list(ways)[-1 if reader.harder_way_first else 0] if ways else ""
    first = ways.get(reader.chosen_ways.get(section.key, "")) or ways.get(wished)
    others = tuple(way for way in section.ways if way is not first)
    last = section.ways[-1] if section.ways else None
    name = (last.name or last.technique) if last else ""
    return OpenSection(section.key, section.title, first, others, name)


def _at(numbers: Sequence[int], place: int) -> int | None:
    return numbers[place] if 0 <= place < len(numbers) else None
