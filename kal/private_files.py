"""Handing out a private file once a view has found that its reader may have it.

By nginx where KAL_NGINX_FILES names its internal location, by Django otherwise: with ranges and
conditions as RFC 9110 has them, and without a time stamp, since that would tell when a clue was
written.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any
from urllib.parse import quote

from django.conf import settings
from django.core.files import File
from django.core.files.storage import default_storage
from django.http import FileResponse, HttpRequest, HttpResponse, StreamingHttpResponse
from django.http.response import HttpResponseBase
from django.utils.cache import get_conditional_response
from django.utils.encoding import iri_to_uri
from django.utils.http import quote_etag

from kal.storage import PrivateFiles

CHUNK = 64 * 1024
AT_ONCE = 1024 * 1024  # up to here read whole, so that a reader who leaves leaves no file open
# One range of RFC 9110, 14.1.2. Several at once are answered whole, as 14.2 allows.
ONE_RANGE = re.compile(r"\s*bytes\s*=\s*(\d*)\s*-\s*(\d*)\s*", re.IGNORECASE)
PLAIN_NAME = re.compile(r"[0-9A-Za-z._-]+")


@dataclass(frozen=True)
class PrivateFile:
    """A stored file and how it is given: `tag` changes with the bytes and tells nothing else."""

    path: str
    name: str
    content_type: str
    tag: str
    is_download: bool = False


def hand_out(request: HttpRequest, file: PrivateFile) -> HttpResponseBase:
    """Return the file, the part of it that was asked for, or word that it has not changed."""
    response = _by_nginx(file) if is_by_nginx() else _by_django(request, file)
    response.headers["X-Content-Type-Options"] = "nosniff"
    return response


def is_by_nginx() -> bool:
    """Return whether nginx sends private files: it reads a disk, but no bucket."""
    return bool(settings.NGINX_FILES) and isinstance(default_storage, PrivateFiles)


def _by_nginx(file: PrivateFile) -> HttpResponse:
    response = HttpResponse(content_type=file.content_type)
    response.headers["X-Accel-Redirect"] = iri_to_uri(f"{settings.NGINX_FILES}{file.path}")
    response.headers["Content-Disposition"] = _disposition(file)
    return response


def _by_django(request: HttpRequest, file: PrivateFile) -> HttpResponseBase:
    etag = quote_etag(file.tag)
    response = get_conditional_response(request, etag=etag) or _content(request, file, etag)
    response.headers["ETag"] = etag
    return response


def _content(request: HttpRequest, file: PrivateFile, etag: str) -> HttpResponseBase:
    opened = default_storage.open(file.path, "rb")
    try:
        size = opened.size
        wanted = _wanted_range(request, etag, size)
        if wanted is not None and not wanted:
            opened.close()
            return HttpResponse(status=416, headers={"Content-Range": f"bytes */{size}"})
        if wanted is None:
            response = _whole(opened, size, file)
        else:
            response = _part(opened, wanted, size, file)
    except BaseException:
        opened.close()
        raise
    response.headers.setdefault("Content-Length", str(size))
    response.headers["Accept-Ranges"] = "bytes"
    response.headers["Content-Disposition"] = _disposition(file)
    return response


def _whole(opened: File[Any], size: int, file: PrivateFile) -> HttpResponseBase:
    if size <= AT_ONCE:
        with opened:
            return HttpResponse(opened.read(), content_type=file.content_type)
    return FileResponse(opened, content_type=file.content_type)


def _part(opened: File[Any], wanted: range, size: int, file: PrivateFile) -> HttpResponseBase:
    return StreamingHttpResponse(
        Part(opened, wanted),
        status=206,
        content_type=file.content_type,
        headers={
            "Content-Length": str(len(wanted)),
            "Content-Range": f"bytes {wanted.start}-{wanted.stop - 1}/{size}",
        },
    )


def _disposition(file: PrivateFile) -> str:
    kind, name = "attachment" if file.is_download else "inline", written_name(file.name)
    return f'{kind}; filename="{name}"' if name == file.name else f"{kind}; filename*={name}"


def written_name(name: str) -> str:
    """Return a file's name for a header: as it is, or by RFC 8187 unless it is all plain letters.

    It has no space, quote or separator, whatever the name has.
    """
    return name if PLAIN_NAME.fullmatch(name) else f"utf-8''{quote(name, safe='')}"


def _wanted_range(request: HttpRequest, etag: str, size: int) -> range | None:
    """Return the bytes asked for, an empty range for one past the end, None for the whole file.

    RFC 9110: a range counts for GET alone (14.2), and only if If-Range names these bytes (13.1.5).
    """
    asked = request.headers.get("Range")
    if asked is None or request.method != "GET":
        return None
    if request.headers.get("If-Range", etag).strip() != etag:
        return None
    return read_range(asked, size)


def read_range(header: str, size: int) -> range | None:
    """Return the one byte range a Range header asks of `size` bytes; None when it is to be ignored.

    Empty when no byte of it is there, which is what status 416 is for (RFC 9110, 14.1.2).
    """
    found = ONE_RANGE.fullmatch(header)
    # Twenty digits are past any file; without a limit int() would take its time.
    if not found or len(header) > 60:
        return None
    first, last = found.groups()
    if not first:
        return range(max(0, size - int(last)), size) if last else None
    if last and int(last) < int(first):
        return None
    end = min(int(last) + 1, size) if last else size
    return range(int(first), max(end, int(first)))


class Part:
    """Some bytes of an open file, piece by piece; closing it closes the file."""

    def __init__(self, file: File[Any], wanted: range) -> None:
        self.file, self.wanted = file, wanted

    def __iter__(self) -> Iterator[bytes]:
        self.file.seek(self.wanted.start)
        left = len(self.wanted)
        while left and (piece := self.file.read(min(CHUNK, left))):
            left -= len(piece)
            yield piece

    def close(self) -> None:
        self.file.close()
