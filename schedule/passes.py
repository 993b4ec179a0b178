"""Passes: by which nginx hands a participant their own stamped copy without asking the site.

A pass is a cookie for the address of one file. It names the participant's copy of it and when the
pass ends, and is signed for the session it was given to. nginx checks all of that by itself (see
deploy/nginx), and asks the site about whatever has no good pass. So a pass only ever saves a
question: the answers that give one have just made the whole check, and the copy is there only
once the site has handed it out to that participant before.
"""

import base64
import hashlib
from collections.abc import Iterable
from datetime import datetime, timedelta
from http.cookies import Morsel
from typing import Protocol
from uuid import UUID

from django.conf import settings
from django.http.response import HttpResponseBase

from kal.http import MemberRequest
from kal.private_files import is_by_nginx, written_name
from schedule.stamped import copy_name

NAME = "knit_along_pass"
# Our choice: long enough to open a page and then its file, or to read one in many small ranges,
# and far shorter than the hour for which a reader's own browser keeps what it was handed.
LIFE = timedelta(minutes=5)
ROOM = 2_000  # characters of headers, our choice: nginx takes 4,096 for all of them


class PdfOfClue(Protocol):
    """A PDF of a clue: an attachment, or one as a page links to it."""

    @property
    def key(self) -> UUID: ...
    @property
    def name(self) -> str: ...


def give_passes(
    request: MemberRequest,
    response: HttpResponseBase,
    files: Iterable[tuple[str, PdfOfClue]],
    *,
    now: datetime,
) -> None:
    """Put passes for PDFs, each by its address, on an answer to somebody who may read them now.

    Only for files of a clue that is out, once it was found that they may be read. Where the site
    signs no passes nothing happens, and those for which there is no room are left out.
    """
    session = request.session.session_key
    if not (settings.NGINX_SECRET and is_by_nginx() and session):
        return
    ends, room = int((now + LIFE).timestamp()), ROOM
    for address, file in files:
        copy = copy_name(file.key, request.participant)
        cookie = _cookie(address, sign(session, address, written_name(file.name), copy, ends))
        room -= len(cookie.OutputString())
        if room < 0:
            return
        # All have one name, of which `set_cookie` would keep one.
        response.cookies[f"{NAME} {address}"] = cookie


def sign(session: str, address: str, name: str, copy: str, ends: int) -> str:
    """Return the value of a pass, as nginx's `secure_link_md5` is told to check it.

    No field can hold the character between them, so two passes never sign the same text. The secret
    stands at both ends of it, so that neither prolonging a text nor two texts with the same MD5,
    which are easy to find, are of use to anybody who does not know it.
    """
    secret = settings.NGINX_SECRET
    text = "|".join((secret, session, address, name, copy, str(ends), secret))
    signature = base64.urlsafe_b64encode(hashlib.md5(text.encode()).digest()).decode()
    return "|".join((name, copy, str(ends), signature.rstrip("=")))


def _cookie(address: str, value: str) -> "Morsel[str]":
    cookie: Morsel[str] = Morsel()
    cookie.set(NAME, value, value)
    cookie["path"] = address
    cookie["max-age"] = int(LIFE.total_seconds())
    cookie["secure"] = settings.SESSION_COOKIE_SECURE
    cookie["httponly"] = True
    cookie["samesite"] = "Lax"
    return cookie
