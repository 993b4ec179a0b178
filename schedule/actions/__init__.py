"""Verbs that write, one file a subject."""

from schedule.actions.plan import propose_clues

__all__ = ["propose_clues"]
