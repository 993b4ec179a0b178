"""Handing out a file: whole, in part, or not at all, as RFC 9110 (HTTP Semantics) has it."""

import os
import time
from pathlib import Path

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.core.signals import request_finished
from django.db import close_old_connections
from django.test import RequestFactory

from kal.private_files import AT_ONCE, PrivateFile, hand_out, read_range
from kal.storage import OLD_PART, PARTS

DATA = bytes(range(256)) * 40
LARGE = DATA * (AT_ONCE // len(DATA) + 2)


@pytest.fixture(autouse=True)
def no_database():
    """Closing an answer ends a request, which would close connections that no test here has."""
    request_finished.disconnect(close_old_connections)
    yield
    request_finished.connect(close_old_connections)


@pytest.fixture(params=[DATA, LARGE], ids=["small", "large"])
def data(request):
    return request.param


@pytest.fixture
def file(data):
    path = default_storage.save("clues/abc", ContentFile(data))
    return PrivateFile(path, "Chärt 1.pdf", "application/pdf", "tag-1", is_download=True)


def ask(file, method="get", **headers):
    named = {name.replace("_", "-"): value for name, value in headers.items()}
    return hand_out(getattr(RequestFactory(), method)("/", headers=named), file)


def body(response):
    read = b"".join(response) if response.streaming else response.content
    response.close()
    return read


def test_the_whole_file_says_what_it_is(file, data):
    response = ask(file)
    assert response.headers["Content-Type"] == "application/pdf"
    assert response.headers["Content-Length"] == str(len(data))
    assert response.headers["Accept-Ranges"] == "bytes"
    assert response.headers["ETag"] == '"tag-1"'
    assert response.headers["Content-Disposition"] == (
        "attachment; filename*=utf-8''Ch%C3%A4rt%201.pdf"
    )
    assert "Last-Modified" not in response.headers
    assert body(response) == data


@pytest.mark.parametrize(
    ("asked", "first", "last"),
    [
        # The examples of 14.1.2, on a file of 10,240 bytes as on a larger one.
        ("bytes=0-499", 0, 499),
        ("bytes=500-999", 500, 999),
        ("bytes=-500", -500, -1),
        ("bytes=9500-", 9500, -1),
        ("bytes=0-0", 0, 0),
        ("bytes=-1", -1, -1),
        ("BYTES = 0 - 9", 0, 9),
        ("bytes=10-999999999999", 10, -1),
        ("bytes=-999999999999", 0, -1),
    ],
)
def test_one_range_is_answered_in_part(file, data, asked, first, last):
    size = len(data)
    first, last = first % size, last % size
    response = ask(file, Range=asked)
    assert response.status_code == 206
    assert response.headers["Content-Range"] == f"bytes {first}-{last}/{size}"
    assert response.headers["Content-Length"] == str(last - first + 1)
    assert body(response) == data[first : last + 1]


@pytest.mark.parametrize("asked", ["bytes=999999999-", "bytes=999999999-9999999999", "bytes=-0"])
def test_a_range_past_the_end_is_not_satisfiable(file, data, asked):
    """15.5.17: status 416 with the length in Content-Range."""
    response = ask(file, Range=asked)
    assert response.status_code == 416
    assert response.headers["Content-Range"] == f"bytes */{len(data)}"
    assert body(response) == b""


@pytest.mark.parametrize(
    "asked",
    [
        "bytes=0-1,5-9",  # 14.2: several may be ignored
        "bytes=9-2",  # 14.1.1: invalid
        "rows=0-9",  # 14.1: a unit that is not known
        *("bytes=-", "bytes=", "bytes", "", "bytes=a-b", "bytes=0x0-9", "bytes=--5"),
        "bytes=0-" + "9" * 5000,
    ],
)
def test_what_is_no_single_range_gets_the_whole_file(file, data, asked):
    response = ask(file, Range=asked)
    assert response.status_code == 200
    assert body(response) == data


@pytest.mark.parametrize(
    ("condition", "status"),
    [
        ('"tag-1"', 206),
        ('"tag-0"', 200),
        ('W/"tag-1"', 200),  # 13.1.5: the strong comparison
        ("Wed, 25 Nov 2026 12:00:00 GMT", 200),
    ],
)
def test_a_range_depends_on_if_range(file, condition, status):
    response = ask(file, Range="bytes=0-9", If_Range=condition)
    assert response.status_code == status
    body(response)


def test_a_condition_counts_before_the_range(file):
    """13.2.2: If-None-Match and If-Match come first."""
    unchanged = ask(file, Range="bytes=0-9", If_None_Match='"tag-1"')
    assert (unchanged.status_code, body(unchanged)) == (304, b"")
    assert unchanged.headers["ETag"] == '"tag-1"'
    assert ask(file, Range="bytes=0-9", If_Match='"other"').status_code == 412
    other = ask(file, Range="bytes=0-9", If_None_Match='"other"')
    assert other.status_code == 206
    body(other)


def test_head_says_the_length_and_knows_no_range(file, data):
    response = ask(file, "head", Range="bytes=0-9")
    assert (response.status_code, response.headers["Content-Length"]) == (200, str(len(data)))
    response.close()


def test_an_empty_file_has_no_range():
    assert read_range("bytes=0-", 0) == range(0)
    assert not read_range("bytes=-5", 0)


def test_nginx_is_told_where_the_file_is_and_nothing_is_read(file, settings):
    settings.NGINX_FILES = "/private/"
    default_storage.delete(file.path)
    response = ask(file, Range="bytes=0-9")
    assert response.headers["X-Accel-Redirect"] == "/private/clues/abc"
    assert response.headers["Content-Type"] == "application/pdf"
    assert "ETag" not in response.headers
    assert body(response) == b""


def test_a_file_that_cannot_be_written_whole_is_not_there(tmp_path):
    class Torn(ContentFile[bytes]):
        def chunks(self, chunk_size=None):
            yield b"half"
            raise OSError(28, "No space left on device")

    with pytest.raises(OSError, match="No space"):
        default_storage.save("clues/torn", Torn(b""))
    assert not default_storage.exists("clues/torn")
    assert default_storage.listdir(PARTS)[1] == []


def test_what_a_dead_process_left_is_dropped_after_a_day(settings):
    default_storage.save("clues/whole", ContentFile(b"x"))
    parts = Path(settings.MEDIA_ROOT) / PARTS
    for name in ("old", "new"):
        (parts / name).write_bytes(b"half")
    long_ago = time.time() - OLD_PART - 1
    os.utime(parts / "old", (long_ago, long_ago))
    assert default_storage.drop_old_parts() == 1  # type: ignore[attr-defined]
    assert [path.name for path in parts.iterdir()] == ["new"]
    assert default_storage.exists("clues/whole")
