"""What a revision shows, put together once: a revision never changes, so neither does this.

Nothing here asks whether the reader may see it; `schedule.visibility` has answered that before.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal
from functools import lru_cache, partial
from urllib.parse import urlsplit
from uuid import UUID

from django.urls import reverse
from django.utils.safestring import SafeString

from schedule.drafts import Draft, SectionDraft, draft_of_revision
from schedule.glossary import used_in
from schedule.markdown import InlineImage, images_named_in, render_markdown
from schedule.models import Attachment, Clue, GlossaryEntry, Question, Revision

REMEMBERED = 64  # revisions; a few knit-alongs' newest clues at some tens of kilobytes each


@dataclass(frozen=True)
class ShownFile:
    """One attachment as a page links to it; `size` is in bytes."""

    key: UUID
    url: str
    name: str
    alt: str
    size: int
    width: int | None
    height: int | None

    @property
    def inline(self) -> InlineImage:
        return InlineImage(self.url, self.alt, self.width, self.height)


@dataclass(frozen=True)
class Erratum:
    note: str
    at: datetime
    revision: int


@dataclass(frozen=True)
class Note:
    """A question with the answer that is shown with the clue, both plain text."""

    question: str
    answer: str


@dataclass(frozen=True)
class ShownWay:
    key: str
    name: str
    technique: str
    html: SafeString


@dataclass(frozen=True)
class ShownSection:
    """A section with its ways, the plain one first; a text of its own may stand alone."""

    key: str
    title: str
    ways: tuple[ShownWay, ...]


@dataclass(frozen=True)
class ShownVideo:
    title: str
    url: str

    @property
    def host(self) -> str:
        return urlsplit(self.url).hostname or ""


@dataclass(frozen=True)
class Content:
    """The newest revision of a clue: its texts as HTML, grams by letter, files and errata."""

    html: SafeString
    uses: tuple[tuple[str, Decimal], ...]
    images: tuple[ShownFile, ...]
    pdfs: tuple[ShownFile, ...]
    errata: tuple[Erratum, ...]
    sections: tuple[ShownSection, ...] = ()
    use_notes: Mapping[str, str] | None = None
    videos: tuple[ShownVideo, ...] = ()
    techniques: tuple[str, ...] = ()
    abbreviations: tuple[tuple[str, str], ...] = ()
    notes: tuple[Note, ...] = ()


EMPTY = Content(html=SafeString(""), uses=(), images=(), pdfs=(), errata=())


@lru_cache(maxsize=REMEMBERED)
def content_of(
    revision_key: UUID,
    slug: str,
    number: int,
    glossary_key: UUID | None = None,
    notes_key: UUID | None = None,
) -> Content:
    """Return the content of the revision with that key, with addresses for clue `number`.

    `glossary_key` and `notes_key` are the clue's own: they change with the glossary and with the
    answers shown with the clue, so that this is made anew.
    """
    revision = Revision.objects.select_related("clue__knit_along").get(key=revision_key)
    meanings = GlossaryEntry.objects.meanings(revision.clue.knit_along)
    draft = draft_of_revision(revision)
    shown = show_draft(draft, revision.attachments.all(), slug, number, meanings)
    return replace(shown, errata=_errata_until(revision), notes=_notes_of(revision.clue))


def show_draft(
    draft: Draft,
    files: Iterable[Attachment],
    slug: str,
    number: int,
    meanings: Mapping[str, str],
) -> Content:
    """Return the draft as the page of clue `number` shows it; `files` are those it keeps."""
    shown = [(file.kind, _shown(file, draft, slug, number)) for file in files]
    images = [file for kind, file in shown if kind == Attachment.Kind.IMAGE]
    placed = {name for text in draft.texts for name in images_named_in(text)}
    render = partial(
        render_markdown,
        images={image.name: image.inline for image in images},
        meanings=meanings,
    )
    return Content(
        html=render(draft.body),
        uses=tuple(sorted(draft.uses.items())),
        images=tuple(image for image in images if image.name not in placed),
        pdfs=tuple(file for kind, file in shown if kind == Attachment.Kind.PDF),
        errata=(),
        sections=tuple(_section(section, render) for section in draft.sections),
        use_notes=draft.use_notes,
        videos=tuple(ShownVideo(video.title, video.url) for video in draft.videos),
        techniques=draft.all_techniques,
        abbreviations=used_in(draft.texts, meanings),
    )


def _section(section: SectionDraft, render: "partial[SafeString]") -> ShownSection:
    level = 3 if section.title else 2
    ways = tuple(
        ShownWay(way.key, way.name, way.technique, render(way.body, top_level=level))
        for way in section.ways
    )
    return ShownSection(section.key, section.title, ways)


def _notes_of(clue: Clue) -> tuple[Note, ...]:
    answered = Question.objects.filter(
        clue=clue, hidden_at=None, in_notes__isnull=False, in_notes__hidden_at=None
    )
    words = answered.order_by("at", "pk").values_list("words", "in_notes__words")
    return tuple(Note(question, answer) for question, answer in words)


def _errata_until(revision: Revision) -> tuple[Erratum, ...]:
    earlier = Revision.objects.errata().filter(clue=revision.clue_id, number__lte=revision.number)
    return tuple(
        Erratum(note, at, number)
        for note, at, number in earlier.values_list("note", "saved_at", "number")
    )


def _shown(file: Attachment, draft: Draft, slug: str, number: int) -> ShownFile:
    url = reverse("schedule:attachment", args=[slug, number, file.key])
    alt = draft.descriptions.get(file.pk, file.alt)
    return ShownFile(file.key, url, file.name, alt, file.size, file.width, file.height)
