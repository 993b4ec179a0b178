"""Next year's knit-along out of this one: what was written, none of the people, dates anew."""

from collections.abc import Collection
from dataclasses import replace
from datetime import datetime, timedelta

from django.core.files.base import ContentFile
from django.db import transaction
from django.utils.translation import gettext_noop

from kal.actions.knit_alongs import Needs, create_knit_along
from kal.models import AuditEntry, KnitAlong, Participant, User
from kal.wall_times import wall_of
from schedule.actions.define import store_meanings
from schedule.actions.plan import propose_clues
from schedule.actions.write import store_revision
from schedule.drafts import Draft, draft_of
from schedule.models import Attachment, Clue, GlossaryEntry, YarnReserve

YEAR = timedelta(weeks=52)  # the same day of the week, a year on


def wall_times_anew(source: KnitAlong, now: datetime) -> dict[str, datetime]:
    """Return wall times to propose for the next one: as many whole years on as it takes."""
    names = {
        "sign_up_opens": source.sign_up_opens_at,
        "sign_up_closes": source.sign_up_closes_at,
        "cast_on": source.cast_on_at,
    }
    walls = {name: wall_of(instant, source.tz) for name, instant in names.items()}
    years = 1
    while walls["cast_on"] + years * YEAR <= wall_of(now, source.tz):
        years += 1
    return {name: wall + years * YEAR for name, wall in walls.items()}


@transaction.atomic
def clone_knit_along(
    source: KnitAlong,
    knit_along: KnitAlong,
    needs: Needs,
    *,
    with_texts: bool,
    by: User,
    now: datetime,
) -> Participant:
    """Store a filled-in knit-along with the source's glossary and, if wished, its clues' content.

    Every clue is unready, with its newest text as its first revision. What is said of colour
    letters that there are no more is left out. Whoever clones it is its only organiser.
    """
    organiser = create_knit_along(knit_along, needs, by=by, now=now)
    clues = {clue.number: clue for clue in propose_clues(knit_along)}
    store_meanings(knit_along, GlossaryEntry.objects.meanings(source))
    _copy_reserve(source, knit_along)
    if with_texts:
        for old in source.clues.filter(number__in=clues):
            _copy_clue(old, clues[old.number], knit_along.letters, by, now)
    AuditEntry.objects.record(
        knit_along, gettext_noop("cloned it from another"), by=by, at=now, source=source.slug
    )
    return organiser


def _copy_reserve(source: KnitAlong, knit_along: KnitAlong) -> None:
    reserve = YarnReserve.objects.filter(knit_along=source).first()
    if reserve:
        YarnReserve.objects.create(knit_along=knit_along, percent=reserve.percent)


def _copy_clue(old: Clue, new: Clue, letters: str, by: User, now: datetime) -> None:
    new.title, new.title_is_secret = old.title, old.title_is_secret
    new.save(update_fields=["title", "title_is_secret"])
    if old.revision is None:
        return
    draft = draft_of(old)
    attached = old.attachments.filter(pk__in=draft.attachments)
    copies = {file.pk: _copy_file(file, new).pk for file in attached}
    store_revision(new, _carried_over(draft, copies, letters), None, by, now)


def _carried_over(draft: Draft, copies: dict[int, int], letters: Collection[str]) -> Draft:
    """Return the draft with the copies in the place of its files, and these letters alone."""
    return replace(
        draft,
        attachments=frozenset(copies.values()),
        descriptions={copies[pk]: text for pk, text in draft.descriptions.items() if pk in copies},
        uses={letter: grams for letter, grams in draft.uses.items() if letter in letters},
        use_notes={letter: note for letter, note in draft.use_notes.items() if letter in letters},
        meetings=tuple(
            one for one in draft.meetings if one.first in letters and one.second in letters
        ),
    )


def _copy_file(file: Attachment, clue: Clue) -> Attachment:
    """Store the file's bytes once more, as a file of this clue: each knit-along owns its own."""
    with file.file.open("rb") as stream:
        content = ContentFile(stream.read())
    copied = Attachment(
        clue=clue,
        kind=file.kind,
        name=file.name,
        alt=file.alt,
        content_type=file.content_type,
        size=file.size,
        width=file.width,
        height=file.height,
    )
    copied.file.save("", content, save=False)
    copied.save()
    return copied
