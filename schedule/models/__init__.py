"""Rows of the schedule app, one file a subject."""

from schedule.models.attachment import Attachment
from schedule.models.change import ScheduleChange
from schedule.models.clue import Clue
from schedule.models.feed_key import FeedKey
from schedule.models.glossary import GlossaryEntry
from schedule.models.knitting import OwnKnitting, YarnReserve
from schedule.models.letters import LetterChoice, PaletteNote, PlanOpening
from schedule.models.mail_pace import MailPace
from schedule.models.meeting import Meeting
from schedule.models.message import Message
from schedule.models.notice import Notice
from schedule.models.opening import Opening
from schedule.models.post import EarlierWords, Post
from schedule.models.question import Answer, Question
from schedule.models.read_through import ReaderComment, SignOff
from schedule.models.report import PostingBlock, Report, Thing
from schedule.models.revision import LetterUse, Revision
from schedule.models.section import ClueSection, CountedPart, Way
from schedule.models.unsaved import UnsavedWords
from schedule.models.unveiling import Unveiling
from schedule.models.video import VideoLink
from schedule.models.weigh_in import WeighIn

__all__ = [
    "Answer",
    "Attachment",
    "Clue",
    "ClueSection",
    "CountedPart",
    "EarlierWords",
    "FeedKey",
    "GlossaryEntry",
    "LetterChoice",
    "LetterUse",
    "MailPace",
    "Meeting",
    "Message",
    "Notice",
    "Opening",
    "OwnKnitting",
    "PaletteNote",
    "PlanOpening",
    "Post",
    "PostingBlock",
    "Question",
    "ReaderComment",
    "Report",
    "Revision",
    "ScheduleChange",
    "SignOff",
    "Thing",
    "UnsavedWords",
    "Unveiling",
    "VideoLink",
    "Way",
    "WeighIn",
    "YarnReserve",
]
