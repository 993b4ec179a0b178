"""What to look at before a clue is marked ready: faults that must not go out, and advice.

The one home of these rules: the page where a clue is written shows them, the schedule counts
them, and marking a clue ready refuses the faults.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from django.db.models import prefetch_related_objects
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from schedule.counts import count_problems
from schedule.drafts import CONTENT, Draft, SectionDraft, draft_of_revision
from schedule.links import broken_links
from schedule.models import Attachment, Clue, ReaderComment, Revision, SignOff
from schedule.models.read_through import early_readers_of

TOO_CLOSE = timedelta(hours=24)  # our choice: an early reader sleeps one night over it


class Check(StrEnum):
    EMPTY = "empty"
    NO_ALT = "no-alt"
    NO_CHOICE = "no-choice"
    EMPTY_WAY = "empty-way"
    BROKEN_LINK = "broken-link"
    COUNTS = "counts"
    NO_FILE = "no-file"
    NO_YARDAGE = "no-yardage"
    TOO_CLOSE = "too-close"
    COMMENTS = "comments"
    NOT_SIGNED = "not-signed"


# A reader would be stopped or misled by these; the others are the organiser's to judge.
FAULTS = frozenset(
    {
        *(Check.EMPTY, Check.NO_ALT, Check.NO_CHOICE),
        *(Check.EMPTY_WAY, Check.BROKEN_LINK, Check.COUNTS),
    }
)


@dataclass(frozen=True)
class Remark:
    """One thing to look at, in a sentence that says where and what would do."""

    check: Check
    text: str

    @property
    def is_fault(self) -> bool:
        return self.check in FAULTS


@dataclass(frozen=True)
class Readers:
    """How early readers stand to a clue's newest revision."""

    open_comments: int = 0
    unsigned: tuple[str, ...] = ()


def inspect(
    draft: Draft, files: Iterable[Attachment], clue_numbers: Iterable[int]
) -> Iterator[Remark]:
    """Yield what there is to say of a content alone; `files` are those of the clue."""
    kept = [file for file in files if file.pk in draft.attachments]
    if draft.is_empty:
        yield Remark(Check.EMPTY, _("Nothing is written: give the clue a text or a file."))
        return
    yield from _undescribed(draft, kept)
    for place, section in enumerate(draft.sections, start=1):
        yield from _section(section, section.title or _("Section %(n)s") % {"n": place})
    images = {file.name for file in kept if file.kind == Attachment.Kind.IMAGE}
    for text in draft.texts:
        for address in broken_links(text, images, set(clue_numbers)):
            words = _("The link “%(address)s” leads nowhere: mend its address or take it out.")
            yield Remark(Check.BROKEN_LINK, words % {"address": address[:120]})
    for problem in count_problems(draft):
        yield Remark(Check.COUNTS, problem)
    if not kept:
        yield Remark(Check.NO_FILE, _("No file: many like a PDF to print or a chart."))
    yield from _yardage(draft)


def _undescribed(draft: Draft, kept: Iterable[Attachment]) -> Iterator[Remark]:
    for file in kept:
        described = draft.descriptions.get(file.pk, file.alt).strip()
        if file.kind == Attachment.Kind.IMAGE and not described:
            words = _("%(name)s has no description: say what it shows.")
            yield Remark(Check.NO_ALT, words % {"name": file.name})


def _section(section: SectionDraft, name: str) -> Iterator[Remark]:
    if section.promises_choice and len(section.ways) < 2:
        words = _("%(name)s promises an easier way and has only one: add it or drop the promise.")
        yield Remark(Check.NO_CHOICE, words % {"name": name})
    if not section.ways or not all(way.body.strip() for way in section.ways):
        words = _("%(name)s has a way without a text: write it, or take it out.")
        yield Remark(Check.EMPTY_WAY, words % {"name": name})


def _yardage(draft: Draft) -> Iterator[Remark]:
    parts = [part for section in draft.sections for part in section.parts]
    worked = {letter for part in parts for letter in part.letters}
    missing = sorted(worked - set(draft.uses))
    if missing:
        words = _("No yarn amount for %(letters)s: weigh what the test knit took.")
        yield Remark(Check.NO_YARDAGE, words % {"letters": ", ".join(missing)})
    elif not draft.uses:
        yield Remark(
            Check.NO_YARDAGE, _("No yarn amount for any letter: weigh what the test knit took.")
        )


def _instant(clue: Clue, instants: Iterable[datetime], now: datetime) -> Iterator[Remark]:
    if clue.release_at <= now:
        yield Remark(Check.TOO_CLOSE, _("Its instant has come: marked ready it goes out at once."))
    elif clue.release_at - now < TOO_CLOSE:
        words = _("It goes out in less than a day: little time for anybody to read it ahead.")
        yield Remark(Check.TOO_CLOSE, words)
    if any(timedelta(0) < abs(clue.release_at - at) < TOO_CLOSE for at in instants):
        words = _("Another clue goes out within a day of it: participants may want longer.")
        yield Remark(Check.TOO_CLOSE, words)


def _read(readers: Readers) -> Iterator[Remark]:
    if count := readers.open_comments:
        words = ngettext(
            "%(count)s comment of an early reader is open.",
            "%(count)s comments of early readers are open.",
            count,
        )
        yield Remark(Check.COMMENTS, words % {"count": count})
    if readers.unsigned:
        words = _("Not signed off as it stands by %(names)s.")
        yield Remark(Check.NOT_SIGNED, words % {"names": ", ".join(readers.unsigned)})


def faults(remarks: Iterable[Remark]) -> tuple[Remark, ...]:
    return tuple(remark for remark in remarks if remark.is_fault)


def fault_sentence(number: int, found: Sequence[Remark]) -> str:
    """Return the sentence that refuses to let a clue with these faults go out."""
    words = _("Clue %(number)s is not fit to go out. %(fault)s") % {
        "number": number,
        "fault": found[0].text,
    }
    if len(found) == 1:
        return words
    more = ngettext("And %(n)s fault more.", "And %(n)s faults more.", len(found) - 1)
    return f"{words} {more % {'n': len(found) - 1}}"


def preflight(clue: Clue, now: datetime) -> tuple[Remark, ...]:
    """Return every remark on one clue as it is stored."""
    return preflight_all([clue], now)[clue.pk]


def preflight_all(clues: Iterable[Clue], now: datetime) -> dict[int, tuple[Remark, ...]]:
    """Return the remarks on each of a knit-along's clues by primary key, in a few queries."""
    asked = list(clues)
    if not asked:
        return {}
    siblings = Clue.objects.filter(knit_along=asked[0].knit_along_id)
    instants = dict(siblings.values_list("number", "release_at"))
    newest_keys = siblings.filter(pk__in=[clue.pk for clue in asked]).values("newest_key")
    revisions = list(Revision.objects.filter(key__in=newest_keys))
    prefetch_related_objects(revisions, *CONTENT)
    newest = {revision.clue_id: revision for revision in revisions}
    readers = _readers(asked, newest)
    return {
        clue.pk: tuple(
            _remarks(clue, newest.get(clue.pk), readers.get(clue.pk, Readers()), instants, now)
        )
        for clue in asked
    }


def _remarks(
    clue: Clue,
    revision: Revision | None,
    readers: Readers,
    instants: Mapping[int, datetime],
    now: datetime,
) -> Iterator[Remark]:
    if revision is None:
        yield Remark(Check.EMPTY, _("Nothing is written: give the clue a text or a file."))
        return
    yield from inspect(draft_of_revision(revision), revision.attachments.all(), instants)
    yield from _instant(clue, instants.values(), now)
    yield from _read(readers)


def _readers(clues: list[Clue], newest: Mapping[int, Revision]) -> dict[int, Readers]:
    comments = ReaderComment.objects.unresolved().filter(revision__clue__in=clues)
    counted = Counter(comments.values_list("revision__clue", flat=True))
    signed = set(
        SignOff.objects.filter(revision__in=newest.values()).values_list("revision", "reader")
    )
    names = {reader.pk: str(reader.user) for reader in early_readers_of(clues[0].knit_along_id)}
    return {
        clue: Readers(
            counted[clue],
            tuple(name for pk, name in names.items() if (revision.pk, pk) not in signed),
        )
        for clue, revision in newest.items()
    }
