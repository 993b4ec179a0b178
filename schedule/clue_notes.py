"""The key by which a process remembers the answers shown with a clue: another when they change."""

import uuid

from django.db.models import Q

from kal.models import Participant
from schedule.models import Clue, Question


def renew_notes(clue: Clue) -> None:
    """Have the answers shown with a clue read anew, by whichever process remembers its page."""
    Clue.objects.filter(pk=clue.pk).update(notes_key=uuid.uuid4())


def renew_notes_by(participant: Participant) -> None:
    """The same for all clues that show a question or an answer of this participant."""
    theirs = Q(author=participant) | Q(in_notes__author=participant)
    shown = Question.objects.filter(theirs, in_notes__isnull=False).values("clue")
    Clue.objects.filter(pk__in=shown).update(notes_key=uuid.uuid4())
