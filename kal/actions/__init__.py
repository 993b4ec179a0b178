"""Verbs that write, one file a subject; each is atomic and is told the time."""
