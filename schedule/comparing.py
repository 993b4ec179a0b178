"""What changed between two contents of a clue, line by line, to be shown side by side."""

import difflib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from itertools import zip_longest

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from schedule.drafts import Draft, SectionDraft, VideoDraft, draft_of_revision
from schedule.models import Attachment, Revision

CONTEXT = 2  # lines shown around a change; our choice, enough to find the place


class Kind(StrEnum):
    SAME = "same"
    CHANGED = "changed"
    REMOVED = "removed"
    ADDED = "added"
    LEFT_OUT = "left-out"


@dataclass(frozen=True)
class Line:
    """One line before and after; of lines left out, how many in words."""

    kind: Kind
    before: str
    after: str

    @property
    def word(self) -> str:
        """The kind in a word, since colour alone must not say it."""
        return {
            Kind.SAME: "",
            Kind.CHANGED: _("changed"),
            Kind.REMOVED: _("removed"),
            Kind.ADDED: _("added"),
            Kind.LEFT_OUT: "",
        }[self.kind]


@dataclass(frozen=True)
class Change:
    """One text of a clue that is not as it was."""

    where: str
    lines: tuple[Line, ...]


def changes_in(revision: Revision) -> tuple[Change, ...]:
    """Return what a revision changed of the one before it, as far as a reader is shown it."""
    earlier = Revision.objects.filter(clue=revision.clue_id, number__lt=revision.number)
    before = earlier.order_by("-number").first()
    if before is None:
        return ()
    files = file_names(revision.clue_id)
    return changes_between(draft_of_revision(before), draft_of_revision(revision), files=files)


def file_names(clue: int) -> dict[int, str]:
    """Return the names of all files of a clue by primary key."""
    return dict(Attachment.objects.filter(clue=clue).values_list("pk", "name"))


def changes_between(before: Draft, after: Draft, *, files: Mapping[int, str]) -> tuple[Change, ...]:
    """Return every text that differs, in the clue's order; `files` are names by primary key.

    What a participant is not shown is left out: counted rows and meetings of letters.
    """
    old = dict(_texts(before, files))
    new = dict(_texts(after, files))
    places = [*new, *(place for place in old if place not in new)]
    return tuple(
        Change(new.get(place, old.get(place, ("", [])))[0], lines_between(first, second))
        for place in places
        if (first := old.get(place, ("", []))[1]) != (second := new.get(place, ("", []))[1])
    )


def lines_between(before: list[str], after: list[str]) -> tuple[Line, ...]:
    """Return two texts line by line, without what is far from any change."""
    matcher = difflib.SequenceMatcher(a=before, b=after, autojunk=False)
    found: list[Line] = []
    for kind, i, j, k, m in matcher.get_opcodes():
        if kind == "equal":
            found += [Line(Kind.SAME, line, line) for line in before[i:j]]
        else:
            found += [_line(*pair) for pair in zip_longest(before[i:j], after[k:m])]
    # Space between paragraphs is nothing to tell.
    told = [line for line in found if line.before.strip() or line.after.strip()]
    return tuple(_without_what_is_far(told))


def _line(before: str | None, after: str | None) -> Line:
    if before is None:
        return Line(Kind.ADDED, "", after or "")
    if after is None:
        return Line(Kind.REMOVED, before, "")
    return Line(Kind.CHANGED, before, after)


def _without_what_is_far(lines: list[Line]) -> Iterator[Line]:
    touched = [place for place, line in enumerate(lines) if line.kind != Kind.SAME]
    near = {place + step for place in touched for step in range(-CONTEXT, CONTEXT + 1)}
    skipped = 0
    for place, line in enumerate([*lines, None]):
        if line is not None and place not in near:
            skipped += 1
            continue
        if skipped:
            words = ngettext("%(n)s line as before", "%(n)s lines as before", skipped)
            yield Line(Kind.LEFT_OUT, words % {"n": skipped}, "")
            skipped = 0
        if line is not None:
            yield line


type Text = tuple[tuple[str, ...], tuple[str, list[str]]]


def _texts(draft: Draft, files: Mapping[int, str]) -> Iterator[Text]:
    """Yield a place that stays the same between revisions, and the text there with its name."""
    yield ("title",), (_("Title"), [draft.title])
    yield ("body",), (_("Opening text"), draft.body.splitlines())
    order = [section.title for section in draft.sections]
    yield ("order",), (_("Sections"), order)
    for place, section in enumerate(draft.sections, start=1):
        yield from _section_texts(section, place)
    yield ("yarn",), (_("Yarn"), list(_yarn_lines(draft)))
    yield ("techniques",), (_("Techniques"), [", ".join(draft.all_techniques)])
    yield ("videos",), (_("Videos"), [video_line(video) for video in draft.videos])
    yield ("files",), (_("Files"), sorted(files.get(pk, "?") for pk in draft.attachments))
    shown = sorted(
        f"{files.get(pk, '?')}: {words}"
        for pk, words in draft.descriptions.items()
        if pk in draft.attachments
    )
    yield ("descriptions",), (_("What images show"), shown)


def _section_texts(section: SectionDraft, place: int) -> Iterator[Text]:
    name = section.title or _("Section %(place)s") % {"place": place}
    for number, way in enumerate(section.ways, start=1):
        way_name = way.name or (_("way %(number)s") % {"number": number})
        where = name if len(section.ways) == 1 and not way.name else f"{name}, {way_name}"
        yield ("way", section.key, way.key), (where, way.body.splitlines())


def _yarn_lines(draft: Draft) -> Iterator[str]:
    for letter, grams in sorted(draft.uses.items()):
        yield f"{letter}: {amount_line(grams, draft.use_notes.get(letter, ''))}"


def amount_line(grams: Decimal, note: str) -> str:
    """Return '12.5 g held double': what a letter takes, and a word on it."""
    return f"{grams.normalize():f} g {note}".strip()


def video_line(video: VideoDraft) -> str:
    """Return a video's title and address."""
    return f"{video.title} {video.url}"
