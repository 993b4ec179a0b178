"""Verbs that write, one file a subject; each is atomic, is told the time, and logs the act."""

from schedule.actions.messages import queue_messages
from schedule.actions.plan import (
    add_clue,
    find_problems,
    hold_clue,
    mark_ready,
    move_clues,
    propose_clues,
    remove_clue,
)
from schedule.actions.retry import retry_notices
from schedule.actions.write import save_clue, store_attachment
from schedule.drafts import Draft

__all__ = [
    "Draft",
    "add_clue",
    "find_problems",
    "hold_clue",
    "mark_ready",
    "move_clues",
    "propose_clues",
    "queue_messages",
    "remove_clue",
    "retry_notices",
    "save_clue",
    "store_attachment",
]
