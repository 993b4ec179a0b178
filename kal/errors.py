"""What an action of the base app can refuse; each message is one sentence fit to show.

KnitAlongError
├── JoinRefused
│   ├── SignUpNotOpen, SignUpClosed
│   ├── CodeUnknown, CodeExpired, CodeUsedUp, CodeWithdrawn
│   ├── NotOnList
│   ├── SentAway
│   └── Over
├── Archived
├── LastOrganiser
└── TransferRefused
"""


class KnitAlongError(Exception):
    """Base class for every refusal of the base app. Raise a subclass."""


class JoinRefused(KnitAlongError):
    """Base class for the reasons somebody may not join now. Raise a subclass."""


class SignUpNotOpen(JoinRefused):
    """The sign-up window has not begun."""


class SignUpClosed(JoinRefused):
    """The sign-up window is over."""


class CodeUnknown(JoinRefused):
    """No code of this knit-along reads like that."""


class CodeExpired(JoinRefused):
    """The code was good until a moment that has passed."""


class CodeUsedUp(JoinRefused):
    """As many people as the code admits have joined with it."""


class CodeWithdrawn(JoinRefused):
    """The organiser took the code back."""


class NotOnList(JoinRefused):
    """The person's own address is not on the organiser's list."""


class SentAway(JoinRefused):
    """An organiser removed this person."""


class Over(JoinRefused):
    """The knit-along is archived."""


class Archived(KnitAlongError):
    """Nothing of an archived knit-along is changed."""


class LastOrganiser(KnitAlongError):
    """A knit-along always has somebody at its desk."""


class TransferRefused(KnitAlongError):
    """A place cannot be moved from the one address to the other."""
