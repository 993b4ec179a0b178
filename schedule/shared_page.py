"""The page of a clue that is out, put together once for all readers who see the same.

At a release thousands ask for one page that differs in their name and a token. It is rendered for
the first of them with places for these two, from `Known` values only: those that are part of the
key. A template that asks for anything else makes the page one that is not shared, so that nothing
of one reader can be shown to another. Whether the reader may see the clue was answered before.
"""

import logging
import secrets
from dataclasses import dataclass, field
from datetime import datetime
from functools import lru_cache
from typing import Any

from django.conf import settings
from django.contrib.messages import get_messages
from django.middleware.csrf import get_token
from django.template.loader import render_to_string
from django.utils import timezone
from django.utils.html import escape
from django.utils.translation import get_language

from kal.http import MemberRequest
from kal.models import KnitAlong, Participant, User
from schedule.reading import OpenClue

REMEMBERED = 512  # pages of some ten kilobytes: the zones, units and ways of one release morning
NAME, TOKEN = f"name{secrets.token_hex(8)}", f"token{secrets.token_hex(8)}"
TEMPLATE = "schedule/clue.html"

log = logging.getLogger(__name__)


class Known:
    """Named values for a template; it notes whatever else it is asked for."""

    def __init__(self, **values: object) -> None:
        self.__dict__.update(values)
        self.missed: list[str] = []

    def __getattr__(self, name: str) -> Any:
        if not name.startswith("_"):
            self.missed.append(name)
        raise AttributeError(name)


@dataclass(frozen=True)
class View:
    """Everything that the page depends on, but for the reader's name and token."""

    content: int  # which content it is: the clue below keeps it, so no other has its id
    about: tuple[object, ...]
    ways: tuple[tuple[str, str], ...]
    knit_along: tuple[str, str, str, str]
    archived_at: datetime | None
    is_organiser: bool
    reads_early: bool
    moderates: bool
    harder_way_first: bool
    has_name: bool
    reader_zone: str
    shown_zone: str
    language: str | None
    is_demo: bool
    clue: OpenClue = field(compare=False)


def shared_page(request: MemberRequest, clue: OpenClue) -> str | None:
    """Return the page for this reader, or None when it has to be rendered for them alone."""
    if not clue.is_out or len(get_messages(request)):
        return None
    page = _put_together(_view_of(request.knit_along, request.participant, request.user, clue))
    if page is None:
        return None
    return page.replace(TOKEN, get_token(request)).replace(NAME, escape(request.user.name))


def _view_of(knit_along: KnitAlong, reader: Participant, user: User, clue: OpenClue) -> View:
    return View(
        content=id(clue.content),
        about=(clue.number, clue.title, clue.release_at, clue.uses, clue.previous, clue.next),
        ways=tuple(
            (section.key, section.way.key if section.way else "") for section in clue.sections
        ),
        knit_along=(
            knit_along.slug,
            knit_along.title,
            knit_along.zone,
            knit_along.get_absolute_url(),
        ),
        archived_at=knit_along.archived_at,
        is_organiser=reader.is_organiser,
        reads_early=reader.reads_early,
        moderates=reader.moderates,
        harder_way_first=reader.harder_way_first,
        has_name=bool(user.name),
        reader_zone=user.zone,
        shown_zone=timezone.get_current_timezone_name(),
        language=get_language(),
        is_demo=settings.DEMO,
        clue=clue,
    )


@lru_cache(maxsize=REMEMBERED)
def _put_together(view: View) -> str | None:
    slug, title, zone, address = view.knit_along
    known = {
        "knit_along": Known(
            slug=slug,
            title=title,
            zone=zone,
            get_absolute_url=address,
            archived_at=view.archived_at,
        ),
        "participant": Known(
            is_organiser=view.is_organiser,
            reads_early=view.reads_early,
            moderates=view.moderates,
            harder_way_first=view.harder_way_first,
        ),
        "user": Known(
            name=NAME if view.has_name else "", zone=view.reader_zone, is_authenticated=True
        ),
    }
    context = {"section": "clues", "clue": view.clue, "is_demo": view.is_demo, "csrf_token": TOKEN}
    page = render_to_string(TEMPLATE, context | known)
    missed = [f"{name}.{part}" for name, values in known.items() for part in values.missed]
    if missed:
        log.warning("Pages of clues are not shared: they ask for %s as well", ", ".join(missed))
        return None
    return page
