"""Mail to participants: the ledger of who is owed what, and its delivery."""
