"""What a revision shows, put together once: a revision never changes, so neither does this.

Nothing here asks whether the reader may see it; `schedule.visibility` has answered that before.
"""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from functools import lru_cache
from uuid import UUID

from django.urls import reverse
from django.utils.safestring import SafeString

from schedule.markdown import InlineImage, images_named_in, render_markdown
from schedule.models import Attachment, Revision

REMEMBERED = 64  # revisions; a few knit-alongs' newest clues at some tens of kilobytes each


@dataclass(frozen=True)
class ShownFile:
    """One attachment as a page links to it; `size` is in bytes."""

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


@dataclass(frozen=True)
class Content:
    """The newest revision of a clue: its text as HTML, grams by letter, files and errata."""

    html: SafeString
    uses: tuple[tuple[str, Decimal], ...]
    images: tuple[ShownFile, ...]
    pdfs: tuple[ShownFile, ...]
    errata: tuple[Erratum, ...]


EMPTY = Content(html=SafeString(""), uses=(), images=(), pdfs=(), errata=())


@lru_cache(maxsize=REMEMBERED)
def content_of(revision_key: UUID, slug: str, number: int) -> Content:
    """Return the content of the revision with that key, with addresses for clue `number`."""
    revision = Revision.objects.get(key=revision_key)
    attached = revision.attachments.order_by("pk")
    pdfs = [_shown(file, slug, number) for file in attached if file.kind == Attachment.Kind.PDF]
    images = [_shown(file, slug, number) for file in attached if file.kind == Attachment.Kind.IMAGE]
    placed = images_named_in(revision.body)
    return Content(
        html=render_markdown(revision.body, {image.name: image.inline for image in images}),
        uses=tuple((use.letter, use.grams) for use in revision.letter_uses.all()),
        images=tuple(image for image in images if image.name not in placed),
        pdfs=tuple(pdfs),
        errata=_errata_until(revision),
    )


def _errata_until(revision: Revision) -> tuple[Erratum, ...]:
    earlier = Revision.objects.errata().filter(clue=revision.clue_id, number__lte=revision.number)
    return tuple(Erratum(note, at) for note, at in earlier.values_list("note", "saved_at"))


def _shown(file: Attachment, slug: str, number: int) -> ShownFile:
    url = reverse("schedule:attachment", args=[slug, number, file.key])
    return ShownFile(url, file.name, file.alt, file.size, file.width, file.height)
