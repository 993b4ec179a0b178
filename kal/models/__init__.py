"""Rows of the base app, one file a subject."""

from kal.models.audit_log import AuditEntry
from kal.models.consent import Consent
from kal.models.erasure import Erasure
from kal.models.joining import BuyersImport, CodeBatch, JoinCode, JoinListEntry
from kal.models.knit_along import KnitAlong, LetterNeed
from kal.models.participant import EARLY_READERS, MODERATORS, Participant, Removal, Role
from kal.models.user import User

__all__ = [
    "EARLY_READERS",
    "MODERATORS",
    "AuditEntry",
    "BuyersImport",
    "CodeBatch",
    "Consent",
    "Erasure",
    "JoinCode",
    "JoinListEntry",
    "KnitAlong",
    "LetterNeed",
    "Participant",
    "Removal",
    "Role",
    "User",
]
