"""The content of a clue as plain values: what a form asks to be stored, and what a revision holds.

A section and a way keep their `key` from one revision to the next, so that what a participant
chose outlives errata.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal

from django.db.models import prefetch_related_objects

from schedule.models import Attachment, Clue, ClueSection, CountedPart, Meeting, Revision
from schedule.models.section import new_key
from schedule.pattern.stitches import Part

# Relations of a revision that make up its content.
CONTENT = ["letter_uses", "attachments", "sections__ways", "sections__parts", "meetings", "videos"]


@dataclass(frozen=True)
class WayDraft:
    body: str
    name: str = ""
    technique: str = ""
    key: str = field(default_factory=new_key)


@dataclass(frozen=True)
class PartDraft:
    """Rows as numbers; the fields are those of `CountedPart`."""

    start: int
    kind: str = CountedPart.Kind.ROWS
    name: str = ""
    rows: int = 1
    changes: tuple[int, ...] = ()
    worked: tuple[int, ...] = ()
    letters: str = "A"
    repeat_stitches: int | None = None
    repeat_edge: int = 0
    repeat_rows: int = 1
    states_end: int | None = None

    def as_part(self, section: str) -> Part:
        """Return it for the arithmetic; BadCount or BadRepeat if no knitting has such rows."""
        return CountedPart(section=ClueSection(title=section), **vars(self)).as_part()


@dataclass(frozen=True)
class SectionDraft:
    title: str = ""
    promises_choice: bool = False
    ways: tuple[WayDraft, ...] = ()
    parts: tuple[PartDraft, ...] = ()
    key: str = field(default_factory=new_key)


@dataclass(frozen=True)
class MeetingDraft:
    """Two letters in the alphabet's order, and the contrast that their meeting needs."""

    first: str
    second: str
    technique: str = ""
    needs: str = Meeting.Needs.WORKABLE


@dataclass(frozen=True)
class VideoDraft:
    title: str
    url: str


@dataclass(frozen=True)
class Draft:
    """What a clue is to hold: `uses` in grams by letter, `attachments` by primary key.

    `use_notes` is words by letter, `descriptions` what images show where that differs from what
    was said when they were uploaded, `techniques` names with commas between them.
    """

    title: str
    title_is_secret: bool
    body: str
    uses: Mapping[str, Decimal]
    attachments: frozenset[int]
    note: str = ""
    sections: tuple[SectionDraft, ...] = ()
    meetings: tuple[MeetingDraft, ...] = ()
    videos: tuple[VideoDraft, ...] = ()
    techniques: str = ""
    use_notes: Mapping[str, str] = field(default_factory=dict)
    descriptions: Mapping[int, str] = field(default_factory=dict)

    @property
    def is_empty(self) -> bool:
        return not self.attachments and not any(text.strip() for text in self.texts)

    @property
    def texts(self) -> Iterator[str]:
        """Every Markdown text of the clue, in reading order."""
        yield self.body
        for section in self.sections:
            yield from (way.body for way in section.ways)

    @property
    def all_techniques(self) -> tuple[str, ...]:
        """Those named for the clue, then those of its ways; each once, however it is written."""
        names = self.techniques.split(",")
        names += [way.technique for section in self.sections for way in section.ways]
        found: dict[str, str] = {}
        for name in filter(None, map(str.strip, names)):
            found.setdefault(name.casefold(), name)
        return tuple(found.values())


def draft_of(clue: Clue) -> Draft:
    """Return what the clue holds as it is stored now, without a note."""
    newest = clue.revision
    if newest is None:
        return Draft(clue.title, clue.title_is_secret, "", {}, frozenset())
    stored = draft_of_revision(newest)
    return replace(stored, title=clue.title, title_is_secret=clue.title_is_secret)


def draft_numbered(clue: Clue, number: int) -> Draft | None:
    """Return what the clue's revision of that number holds; of 0, nothing; None if none is there.

    Whether the title is secret has no history: it is what the clue says now.
    """
    if number == 0:
        return Draft("", clue.title_is_secret, "", {}, frozenset())
    revision = clue.revisions.filter(number=number).first()
    if revision is None:
        return None
    return replace(draft_of_revision(revision), title_is_secret=clue.title_is_secret)


def draft_of_revision(revision: Revision) -> Draft:
    """Return what one revision holds, without its note."""
    prefetch_related_objects([revision], *CONTENT)
    uses = list(revision.letter_uses.all())
    attached = list(revision.attachments.all())
    return Draft(
        title=revision.title,
        title_is_secret=True,
        body=revision.body,
        uses={use.letter: use.grams for use in uses},
        attachments=frozenset(file.pk for file in attached),
        sections=tuple(map(_section, revision.sections.all())),
        meetings=tuple(
            MeetingDraft(meeting.first, meeting.second, meeting.technique, meeting.needs)
            for meeting in revision.meetings.all()
        ),
        videos=tuple(VideoDraft(video.title, video.url) for video in revision.videos.all()),
        techniques=revision.techniques,
        use_notes={use.letter: use.note for use in uses if use.note},
        descriptions={
            file.pk: revision.description_of(file)
            for file in attached
            if file.kind == Attachment.Kind.IMAGE
        },
    )


def _section(section: ClueSection) -> SectionDraft:
    return SectionDraft(
        title=section.title,
        promises_choice=section.promises_choice,
        ways=tuple(
            WayDraft(way.body, way.name, way.technique, way.key) for way in section.ways.all()
        ),
        parts=tuple(map(_part, section.parts.all())),
        key=section.key,
    )


def _part(part: CountedPart) -> PartDraft:
    return PartDraft(
        start=part.start,
        kind=part.kind,
        name=part.name,
        rows=part.rows,
        changes=tuple(part.changes),
        worked=tuple(part.worked),
        letters=part.letters,
        repeat_stitches=part.repeat_stitches,
        repeat_edge=part.repeat_edge,
        repeat_rows=part.repeat_rows,
        states_end=part.states_end,
    )
