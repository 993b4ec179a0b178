"""What the schedule app refuses, each with one sentence a person can act on.

ScheduleError
    ClueIsOut       the clue has gone out, and that cannot be undone
    BadSchedule     instants that cannot be; `problems` says which clue and why
    StaleSchedule   somebody changed the schedule since the change was shown
    ReasonMissing   dates that people know are changed without a word on why
    NotOver         a knit-along is to be archived while a clue or a mail is to go out
    NotWritten      the clue has nothing in it to send out
    StaleEdit       somebody else saved the clue since this edit began
    ReadAnother     a newer revision than the one that was read is there
    NotFit          the clue has faults that must not go out; the first is in the sentence
    NoteMissing     a clue that is out is changed without saying what changed
    LettersRefused  yarns cannot be given to letters so, or not yet
    NoteRefused     a note's words cannot be sent as they are
    WeighInRefused  a weigh-in that cannot be true; `field` is the one to look at
    Blocked         a participant may not post for now; the reason is in it
    NotTheirs       somebody who looks after the knit-along is not a moderator's to block
    CoverTooLow     an author says that a post shows less than a moderator found in it
    FileRefused     the upload is no PDF or image that can be handed out; the reason is in it
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from django.utils.translation import gettext as _

if TYPE_CHECKING:
    from schedule.models import Revision


class ScheduleError(ValueError):
    """Base class for every refusal of the schedule app. Raise a subclass."""


class ClueIsOut(ScheduleError):
    """The clue has gone out to the participants."""


class BadSchedule(ScheduleError):
    """Instants that cannot be; `problems` maps a clue's number to its sentence."""

    def __init__(self, problems: Mapping[int, str]) -> None:
        super().__init__(" ".join(problems.values()))
        self.problems = problems


class StaleSchedule(ScheduleError):
    """The schedule is no longer the one that the change was shown on."""


class ReasonMissing(ScheduleError):
    """Dates that people may have planned by are changed without a word on why."""

    def __init__(self) -> None:
        super().__init__(_("Say in a sentence why: people may have planned by these dates."))


class NotOver(ScheduleError):
    """A knit-along is to be archived before all of it is out and told."""


class NotWritten(ScheduleError):
    """The clue has nothing in it to send out."""


class StaleEdit(ScheduleError):
    """Somebody else saved the clue since this edit began; `newest` is what they saved."""

    def __init__(self, newest: Revision) -> None:
        super().__init__(
            _(
                "{author} saved revision {number} of this clue after you began. Nothing of yours "
                "is lost: compare the two below, then save again."
            ).format(author=newest.author or _("Somebody"), number=newest.number)
        )
        self.newest = newest


class ReadAnother(ScheduleError):
    """A reader signs off a revision that is no longer the newest."""


class NotFit(ScheduleError):
    """The clue has faults that must not go out."""


class NoteMissing(ScheduleError):
    """A clue that is out is changed without a word on what changed."""


class FileRefused(ScheduleError):
    """The upload cannot be handed out."""


class LettersRefused(ScheduleError):
    """Yarns cannot be given to the letters so, or not yet."""


class NoteRefused(ScheduleError):
    """The words of a note cannot be sent as they are."""


class WeighInRefused(ScheduleError):
    """A weigh-in that cannot be true; `field` names what to look at."""

    def __init__(self, field: str, sentence: str) -> None:
        super().__init__(sentence)
        self.field = field


class Blocked(ScheduleError):
    """The participant may not post, ask or answer for now."""


class CoverTooLow(ScheduleError):
    """A post shows more than its author says: a moderator has put a later clue's cover on it."""

    def __init__(self, number: int) -> None:
        super().__init__(
            _(
                "A moderator has put the cover of clue {number} before this post, so it cannot "
                "be shown to those who have opened earlier ones only."
            ).format(number=number)
        )


class NotTheirs(ScheduleError):
    """The person is not this moderator's to block."""
