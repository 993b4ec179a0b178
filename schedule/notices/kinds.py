"""The kinds of notice: how each is named, worded, and to whom it may go.

A new kind is one `Kind` here; the column holds its name, so no migration is needed.
"""

from dataclasses import dataclass

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _


class UnknownKind(ValueError):
    """No kind of notice has that name."""


@dataclass(frozen=True)
class Kind:
    """What is the same in every notice of one kind; `reason` ends "You get this because …".

    `obeys_wish`: it goes only to those who want mail, and one click stops it (RFC 8058).
    `for_early_readers`: it may speak of a hidden clue, so whoever does not read early by the time
    it is sent gets none, whoever was named.
    """

    name: str
    label: str | Promise
    reason: str | Promise
    templates: str = "emails/message"
    obeys_wish: bool = True
    for_early_readers: bool = False


ASKED = _("you asked to be mailed the news of this knit-along")
HOSTS = _("you look after this knit-along")

CLUE_OUT = Kind("clue-out", _("a clue is out"), ASKED, templates="emails/clue_out")
ERRATA = Kind("errata", _("a clue was put right"), ASKED, templates="emails/errata")
SCHEDULE_CHANGE = Kind("schedule-change", _("the schedule changed"), ASKED)
PALETTE_NOTE = Kind("palette-note", _("a note on palettes, after a dry run"), ASKED)
ANSWER = Kind("answer", _("a question was answered"), ASKED)
COMMENT = Kind("comment", _("a comment on a clue read early"), HOSTS, for_early_readers=True)
# An alert is about a duty, not news: it goes to the hosts whatever they wish to be mailed.
ALERT = Kind("alert", _("an alert to the hosts"), HOSTS, obeys_wish=False, for_early_readers=True)

KINDS = {
    kind.name: kind
    for kind in (CLUE_OUT, ERRATA, SCHEDULE_CHANGE, PALETTE_NOTE, ANSWER, COMMENT, ALERT)
}


def kind_named(name: str) -> Kind:
    """Return the kind with that name; UnknownKind when there is none."""
    try:
        return KINDS[name]
    except KeyError:
        raise UnknownKind(f"{name!r} is no kind of notice; there are {', '.join(KINDS)}.") from None
