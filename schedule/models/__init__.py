"""Rows of the schedule app, one file a subject."""

from schedule.models.attachment import Attachment
from schedule.models.clue import Clue
from schedule.models.meeting import Meeting
from schedule.models.message import Message
from schedule.models.notice import Notice
from schedule.models.revision import LetterUse, Revision
from schedule.models.section import ClueSection, CountedPart, Way

__all__ = [
    "Attachment",
    "Clue",
    "ClueSection",
    "CountedPart",
    "LetterUse",
    "Meeting",
    "Message",
    "Notice",
    "Revision",
    "Way",
]
