"""What cannot be put away or brought back; each message is one sentence fit to show.

RecordsError
├── TargetTaken
└── ArchiveRefused
    ├── NotABackup, DamagedBackup, NewerBackup
    └── SiteNotEmpty
"""


class RecordsError(Exception):
    """Base class for every refusal of this package. Raise a subclass."""


class TargetTaken(RecordsError):
    """Something stands already where the file should go."""


class ArchiveRefused(RecordsError):
    """Base class for the reasons an archive is not restored. Raise a subclass."""


class NotABackup(ArchiveRefused):
    """The file is none that `backup` has written."""


class DamagedBackup(ArchiveRefused):
    """A part of the archive is missing or is not what was written."""


class NewerBackup(ArchiveRefused):
    """A later release of this program wrote the archive."""


class SiteNotEmpty(ArchiveRefused):
    """The site has rows that a restore would have to replace."""
