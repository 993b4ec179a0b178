"""Which clues, and what of them, a person may see at an instant: the one home of the embargo.

Whether a clue is out is a predicate on the clock and its row (`Clue.objects.out`), so nothing
has to have run for it to appear. Before that only its number and date are public, and its title
where the organiser does not keep it secret. The organiser and co-organisers read early.
"""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db.models import Q, QuerySet

from kal.models import KnitAlong, Participant
from kal.prepared import Prepared
from schedule.models import Attachment, Clue, Meeting, PlanOpening, Revision, WeighIn
from schedule.models.attachment import AttachmentQuerySet
from schedule.models.clue import ClueQuerySet
from schedule.models.meeting import MeetingQuerySet
from schedule.models.revision import RevisionQuerySet


@dataclass(frozen=True)
class ListedClue:
    """What a list of clues may say of one: `title` is empty while it is secret.

    `key` is the same for good, whatever number the clue is given. `out_since` is when it came
    out as far as its row tells, None while it is not.
    """

    key: int
    number: int
    release_at: datetime
    title: str
    is_out: bool
    is_late: bool
    out_since: datetime | None


def public_schedule(knit_along: KnitAlong, now: datetime) -> list[ListedClue]:
    """Return every clue of the knit-along as anybody may know of it at `now`."""
    return [_listed(clue, now) for clue in knit_along.clues.all()]


def schedule_for(participant: Participant, now: datetime) -> list[ListedClue]:
    """Return every clue as this participant may know of it; early readers see secret titles."""
    early = participant.reads_early
    return [_listed(clue, now, early=early) for clue in participant.knit_along.clues.all()]


def readable_clues(participant: Participant, now: datetime) -> ClueQuerySet:
    """Return the clues whose content this participant may read at `now`."""
    clues = Clue.objects.filter(knit_along=participant.knit_along_id)
    return clues if participant.reads_early else clues.out(now)


def readable_errata(participant: Participant, now: datetime) -> RevisionQuerySet:
    """Return what was put right in the clues this participant may read at `now`."""
    return Revision.objects.errata().filter(clue__in=readable_clues(participant, now))


def readable_now(participant: Participant, now: datetime) -> list[Clue]:
    """Return the same as `readable_clues`, as rows by number: what the clue page asks for."""
    clues = _CLUES.rows(participant.knit_along_id)
    return clues if participant.reads_early else [clue for clue in clues if clue.is_out(now)]


def _clues_of(knit_along: int) -> ClueQuerySet:
    return Clue.objects.filter(knit_along=knit_along).order_by("number")


_CLUES = Prepared(_clues_of, int)


def readable_attachment(
    participant: Participant, number: int, key: UUID, now: datetime
) -> Attachment | None:
    """Return a file of clue `number` if this participant may open it at `now`, else None.

    A file that the newest revision no longer shows is gone for everyone but the early readers.
    """
    early = participant.reads_early
    for file in (_FILES if early else _NEWEST_FILES).rows(participant.knit_along_id, key):
        if file.clue.number == number and (early or file.clue.is_out(now)):
            return file
    return None


def _files(knit_along: int, key: UUID) -> AttachmentQuerySet:
    return Attachment.objects.filter(clue__knit_along=knit_along, key=key).select_related("clue")


def _newest_files(knit_along: int, key: UUID) -> AttachmentQuerySet:
    return _files(knit_along, key).in_newest_revision()


_FILES = Prepared(_files, int, UUID)
_NEWEST_FILES = Prepared(_newest_files, int, UUID)


def is_plan_open(knit_along: KnitAlong, now: datetime) -> bool:
    """Return whether participants may see which of their yarns the letter plan makes A, B, C …

    A plan is worked out of every clue's meetings, those of hidden clues too: from then on, and
    no sooner, everybody may learn which letters meet and what contrast that needs.
    """
    opening = PlanOpening.objects.filter(knit_along=knit_along).first()
    return opening is not None and opening.is_open(now)


def readable_meetings(participant: Participant, now: datetime) -> MeetingQuerySet:
    """Return the meetings of which this participant may learn clue and technique at `now`."""
    meetings = Meeting.objects.in_newest_revisions(participant.knit_along)
    return meetings.filter(revision__clue__in=readable_clues(participant, now))


def crowd_weigh_ins(knit_along: KnitAlong, now: datetime) -> QuerySet[WeighIn]:
    """Return the weigh-ins that may tell participants how everybody knits.

    Those of test knitters inside clues that are not out are no part of it: that a letter has been
    weighed there would tell that it is worked there.
    """
    told = Q(clue=None) | Q(clue__in=Clue.objects.filter(knit_along=knit_along).out(now))
    return WeighIn.objects.filter(
        told, participant__knit_along=knit_along, participant__left_at=None
    )


def _listed(clue: Clue, now: datetime, *, early: bool = False) -> ListedClue:
    is_out = clue.is_out(now)
    shows_title = early or is_out or not clue.title_is_secret
    return ListedClue(
        key=clue.pk,
        number=clue.number,
        release_at=clue.release_at,
        title=clue.title if shows_title else "",
        is_out=is_out,
        is_late=clue.release_at <= now and not is_out,
        out_since=max(clue.release_at, clue.ready_at) if is_out and clue.ready_at else None,
    )
