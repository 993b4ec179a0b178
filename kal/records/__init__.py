"""Rows and files taken whole: backups, and what belongs to one person."""
