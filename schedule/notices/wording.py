"""The words of one notice for everybody it goes to: rendered once, then filled in for each.

What differs between recipients is left as places in the text, which one pass fills in, so that
nothing a person typed is ever taken for a place itself.
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.html import escape
from django.utils.translation import get_language

from kal.addresses import absolute
from schedule.models import Notice, Revision
from schedule.notices.kinds import ERRATA

EDGE = "\ue000"  # for private use in Unicode, so no word has it
PLACE = re.compile(f"{EDGE}(\\w+){EDGE}")
MERGED = re.compile(r"\{(\w+)\}")
READER, STOP = "reader", "stop"


@dataclass(frozen=True)
class Wording:
    """Subject, text and HTML of a mail, each with places."""

    subject: str
    text: str
    html: str

    def filled(self, values: Mapping[str, str]) -> "Wording":
        """Return the words for one recipient; a place without a value reads `{name}` again."""
        return Wording(
            " ".join(_fill(self.subject, values, str).split()),
            _fill(self.text, values, str),
            _fill(self.html, values, escape),
        )


def _fill(text: str, values: Mapping[str, str], written: Callable[[str], str]) -> str:
    def value_of(found: re.Match[str]) -> str:
        name = found[1]
        return written(str(values[name])) if name in values else f"{{{name.removeprefix('my_')}}}"

    return PLACE.sub(value_of, text)


class Wordings:
    """Every wording needed so far; one lives as long as a sweep."""

    def __init__(self) -> None:
        self._known: dict[tuple[object, ...], Wording] = {}

    def of(self, notice: Notice) -> Wording:
        key = (notice.kind, notice.clue_id, notice.revision, notice.message_id, get_language())
        if key not in self._known:
            self._known[key] = _render(notice)
        return self._known[key]


def values_for(notice: Notice, stop_url: str) -> dict[str, str]:
    """Return what is the recipient's own, by place; their merge values cannot hide the others."""
    merge = {f"my_{name}": value for name, value in notice.merge.items()}
    return merge | {READER: str(notice.participant.user), STOP: stop_url}


def _render(notice: Notice) -> Wording:
    stem, context = notice.of_kind.templates, _context(notice)
    subject, text, html = (
        render_to_string(f"{stem}_{part}", context)
        for part in ("subject.txt", "body.txt", "body.html")
    )
    return Wording(subject, text, html)


def _context(notice: Notice) -> dict[str, object]:
    knit_along = notice.participant.knit_along
    about = _about_clue(notice, knit_along.slug) if notice.clue else _about_message(notice)
    return about | {
        "knit_along": knit_along,
        "reader": _place(READER),
        "reason": notice.of_kind.reason,
        "unsubscribe_url": _place(STOP) if notice.of_kind.obeys_wish else "",
    }


def _about_clue(notice: Notice, slug: str) -> dict[str, object]:
    clue = notice.clue
    assert clue is not None
    url = absolute(reverse("schedule:clue", args=[slug, clue.number]))
    about: dict[str, object] = {"clue": clue, "clue_url": url}
    if notice.kind == ERRATA.name:
        changed = reverse("schedule:erratum", args=[slug, clue.number, notice.revision])
        about["note"] = Revision.objects.get(clue=clue, number=notice.revision).note
        about["changed_url"] = absolute(changed)
    return about


def _about_message(notice: Notice) -> dict[str, object]:
    message = notice.message
    assert message is not None
    subject, body = message.words_in(get_language() or "")
    return {
        "subject": _with_places(subject),
        "body": _with_places(body),
        "url": absolute(message.path) if message.path else "",
    }


def _with_places(text: str) -> str:
    return MERGED.sub(lambda found: _place(f"my_{found[1]}"), text.replace(EDGE, ""))


def _place(name: str) -> str:
    return f"{EDGE}{name}{EDGE}"
