"""Rows of the schedule app, one file a subject."""

from schedule.models.attachment import Attachment
from schedule.models.clue import Clue
from schedule.models.notice import Notice
from schedule.models.revision import LetterUse, Revision

__all__ = ["Attachment", "Clue", "LetterUse", "Notice", "Revision"]
