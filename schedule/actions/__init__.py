"""Verbs that write, one file a subject; each is atomic, is told the time, and logs the act."""

from schedule.actions.change import Done, change_schedule
from schedule.actions.choose import choose_way, prefer_harder_way
from schedule.actions.define import write_glossary
from schedule.actions.keep import drop_words, keep_words
from schedule.actions.messages import queue_messages
from schedule.actions.plan import mark_ready, propose_clues
from schedule.actions.read_ahead import answer_comment, comment_on_line, sign_off
from schedule.actions.retry import retry_notices
from schedule.actions.weigh import delete_weigh_in, keep_own_knitting, keep_weigh_in, set_reserve
from schedule.actions.write import save_clue, store_attachment
from schedule.drafts import Draft

__all__ = [
    "Done",
    "Draft",
    "answer_comment",
    "change_schedule",
    "choose_way",
    "comment_on_line",
    "delete_weigh_in",
    "drop_words",
    "keep_own_knitting",
    "keep_weigh_in",
    "keep_words",
    "mark_ready",
    "prefer_harder_way",
    "propose_clues",
    "queue_messages",
    "retry_notices",
    "save_clue",
    "set_reserve",
    "sign_off",
    "store_attachment",
    "write_glossary",
]
