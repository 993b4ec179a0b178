"""Writing a clue: every save that changes something is a revision of its own, never an edit."""

from dataclasses import replace
from datetime import datetime
from typing import Any

from django.core.files.base import ContentFile
from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from kal.models import AuditEntry, User
from schedule.actions.keep import drop_words
from schedule.drafts import Draft, PartDraft, SectionDraft, draft_of
from schedule.errors import NoteMissing, NotFit, NotWritten, StaleEdit
from schedule.files import CheckedFile
from schedule.models import (
    Attachment,
    Clue,
    ClueSection,
    CountedPart,
    LetterUse,
    Meeting,
    Revision,
    VideoLink,
    Way,
)
from schedule.preflight import fault_sentence, faults, inspect
from schedule.tasks import sweep_at


@transaction.atomic
def save_clue(clue: Clue, draft: Draft, *, began_from: int, by: User, now: datetime) -> bool:
    """Store the draft, new content as a new revision; False when nothing has changed.

    `began_from` is the number of the revision the edit began from, 0 before the first: StaleEdit
    when there is a newer one. A clue that is out needs `draft.note` (NoteMissing) unless only
    descriptions of images changed, and one that is out or ready cannot be emptied (NotWritten).
    """
    clue = Clue.objects.select_for_update().select_related("knit_along").get(pk=clue.pk)
    newest = clue.revision
    if newest is not None and newest.number != began_from:
        raise StaleEdit(newest)
    drop_words(clue, by=by)
    before = draft_of(clue)
    if is_same(before, draft):
        return False
    has_new_content = content_of_draft(before) != content_of_draft(draft)
    _check(clue, before, draft, now)
    clue.title, clue.title_is_secret = draft.title, draft.title_is_secret
    clue.save(update_fields=["title", "title_is_secret"])
    number = store_revision(clue, draft, newest, by, now) if has_new_content else began_from
    act = (
        gettext_noop("put a clue right") if clue.is_released(now) else gettext_noop("saved a clue")
    )
    AuditEntry.objects.record(
        clue.knit_along, act, by=by, at=now, clue=clue.number, revision=number
    )
    sweep_at(now)
    return True


def is_same(first: Draft, second: Draft) -> bool:
    """Whether saving one in the place of the other would change nothing."""
    return (
        content_of_draft(first) == content_of_draft(second)
        and first.title_is_secret == second.title_is_secret
    )


def content_of_draft(draft: Draft) -> Draft:
    """Return the draft without what is no content: its note, and whether its title is secret."""
    descriptions = {pk: text for pk, text in draft.descriptions.items() if pk in draft.attachments}
    return replace(draft, title_is_secret=True, note="", descriptions=descriptions)


def _check(clue: Clue, before: Draft, draft: Draft, now: datetime) -> None:
    is_released = clue.is_released(now)
    if draft.is_empty and (is_released or clue.ready_at):
        raise NotWritten(
            (
                _("Clue {number} is out, so it cannot be saved empty.")
                if is_released
                else _("Clue {number} is marked ready, so it cannot be saved empty.")
            ).format(number=clue.number)
        )
    if clue.ready_at and not is_released:
        numbers = clue.knit_along.clues.values_list("number", flat=True)
        if found := faults(inspect(draft, clue.attachments.all(), numbers)):
            raise NotFit(
                _(
                    "{fault_sentence} It is marked ready: put that right, or mark it not ready "
                    "first."
                ).format(fault_sentence=fault_sentence(clue.number, found))
            )
    if is_released and not draft.note.strip() and _is_knitted_otherwise(before, draft):
        raise NoteMissing(
            _(
                "Clue {number} is out: say in a sentence what you put right, so that those "
                "who have read it know."
            ).format(number=clue.number)
        )


def _is_knitted_otherwise(before: Draft, after: Draft) -> bool:
    """Whether more changed than what images are said to show: nobody knits that otherwise."""
    described = replace(before, descriptions=after.descriptions)
    return content_of_draft(described) != content_of_draft(after)


def store_revision(
    clue: Clue, draft: Draft, newest: Revision | None, by: User, now: datetime
) -> int:
    """Write the next revision and return its number."""
    revision = Revision.objects.create(
        clue=clue,
        number=newest.number + 1 if newest else 1,
        title=draft.title,
        body=draft.body,
        note=draft.note.strip() if clue.is_released(now) else "",
        author=by,
        saved_at=now,
        techniques=draft.techniques,
        descriptions={str(pk): text for pk, text in draft.descriptions.items()},
    )
    revision.attachments.set(clue.attachments.filter(pk__in=draft.attachments))
    LetterUse.objects.bulk_create(
        LetterUse(
            revision=revision, letter=letter, grams=grams, note=draft.use_notes.get(letter, "")
        )
        for letter, grams in draft.uses.items()
    )
    Meeting.objects.bulk_create(
        Meeting(revision=revision, **vars(meeting)) for meeting in draft.meetings
    )
    VideoLink.objects.bulk_create(
        VideoLink(revision=revision, position=position, **vars(video))
        for position, video in enumerate(draft.videos, start=1)
    )
    for position, section in enumerate(draft.sections, start=1):
        _store_section(revision, position, section)
    return revision.number


def _store_section(revision: Revision, position: int, section: SectionDraft) -> None:
    stored = ClueSection.objects.create(
        revision=revision,
        position=position,
        key=section.key,
        title=section.title,
        promises_choice=section.promises_choice,
    )
    Way.objects.bulk_create(
        Way(section=stored, position=place, **vars(way))
        for place, way in enumerate(section.ways, start=1)
    )
    CountedPart.objects.bulk_create(
        CountedPart(section=stored, position=place, **_fields(part))
        for place, part in enumerate(section.parts, start=1)
    )


def _fields(part: PartDraft) -> dict[str, Any]:
    """The part's fields with lists for tuples, as JSON gives them back."""
    return vars(part) | {"changes": list(part.changes), "worked": list(part.worked)}


@transaction.atomic
def store_attachment(
    clue: Clue, file: CheckedFile, *, alt: str, by: User, now: datetime
) -> Attachment:
    """Store a checked file for the clue; nobody sees it until a revision shows it."""
    attachment = Attachment(
        clue=clue,
        kind=file.kind,
        name=_free_name(clue, file.name),
        alt=alt,
        content_type=file.content_type,
        size=len(file.content),
        width=file.width,
        height=file.height,
    )
    attachment.file.save("", ContentFile(file.content), save=False)
    attachment.save()
    AuditEntry.objects.record(
        clue.knit_along,
        gettext_noop("uploaded a file"),
        by=by,
        at=now,
        clue=clue.number,
        bytes=attachment.size,
    )
    return attachment


def _free_name(clue: Clue, name: str) -> str:
    """Return the name, numbered where the clue has a file of that name already."""
    taken = set(clue.attachments.values_list("name", flat=True))
    stem, dot, suffix = name.rpartition(".")
    number = 1
    while (free := name if number == 1 else f"{stem}-{number}{dot}{suffix}") in taken:
        number += 1
    return free
