"""Passes checked by a real nginx with the shipped sample: what it hands out unasked.

Every test that sends a pass counts the requests that reach the site, so a good one has to save a
question and any other must cost one, and be answered as if there had been no pass.
"""

import os
import re
from datetime import timedelta
from http.cookies import SimpleCookie
from io import BytesIO
from pathlib import Path

import pytest
from django.core.files.storage import default_storage
from django.core.signals import request_started
from django.utils import timezone
from pypdf import PdfReader

from schedule import passes, stamped
from schedule.erasing import erase_participant
from schedule.models import Attachment, Clue
from tests.builders import make_participant, make_user
from tests.deploy.test_nginx import PDF, cookie, file, front, kits, knit_along, undated
from tests.embargo.answers import TOKEN
from tests.web.test_clues import attach, file_address

__all__ = ["file", "front", "kits", "knit_along"]
pytestmark = pytest.mark.django_db(transaction=True)
BOTH = ("GET", "HEAD")


class Asked:
    """How many requests reached the site since the last look."""

    def __init__(self):
        self.count = 0

    def note(self, **told):
        self.count += 1

    def since(self):
        count, self.count = self.count, 0
        return count


@pytest.fixture
def asked(front):
    asked = Asked()
    request_started.connect(asked.note)
    yield asked
    request_started.disconnect(asked.note)


@pytest.fixture
def path(knit_along, file):
    return file_address(knit_along, file)


@pytest.fixture
def given(front, path, kits, asked):
    """Kit's pass for the file, her copy made: as the site's own answer to her gave it."""
    answer, _ = front.ask(path, Cookie=kits)
    value = passes_on(answer)[path]
    assert asked.since() == 1
    return value


def passes_on(answer):
    """The passes that an answer gives, by their addresses."""
    found = {}
    for header in answer.headers.get_all("Set-Cookie", []):
        (morsel,) = SimpleCookie(header).values()
        if morsel.key == passes.NAME:
            found[morsel["path"]] = morsel.value
    return found


def holding(session, value):
    return f"{session}; {passes.NAME}={value}"


def without_passes(answer):
    """All headers, less the date, tokens, and passes, which stand on the site's own answers."""
    return [pair for pair in undated(answer) if pair != ("Set-Cookie", passes.NAME)]


def test_a_pass_is_answered_by_nginx_with_the_headers_of_the_site(front, path, kits, given, asked):
    for method in BOTH:
        slow, copy = front.ask(path, method, Cookie=kits)
        assert asked.since() == 1
        fast, same = front.ask(path, method, Cookie=holding(kits, given))
        assert asked.since() == 0
        assert (fast.status, same) == (slow.status, copy) == (200, copy)
        assert undated(fast) == without_passes(slow)
    headers = dict(fast.headers)
    assert headers["Content-Type"] == "application/pdf"
    assert headers["Content-Disposition"] == 'attachment; filename="chart.pdf"'
    assert headers["Cache-Control"] == "private, max-age=3600"
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Content-Security-Policy"] == "default-src 'none'; sandbox"
    assert headers["Referrer-Policy"] == "same-origin"
    assert "Last-Modified" not in headers


def test_ranges_and_conditions_are_the_same_with_a_pass(front, path, kits, given, asked):
    etag = front.ask(path, Cookie=kits)[0].headers["ETag"]
    size = default_storage.size(only_copy())
    wanted = [
        ({"Range": "bytes=5-14"}, 206),
        ({"Range": "bytes=-9"}, 206),
        ({"Range": f"bytes={size}-"}, 416),
        ({"Range": "bytes=0-1,5-9"}, 200),
        ({"Range": "bytes=0-1", "If-Range": etag}, 206),
        ({"Range": "bytes=0-1", "If-Range": '"other"'}, 200),
        ({"If-None-Match": etag}, 304),
        ({"If-None-Match": "*"}, 304),
        ({"If-Match": '"other"'}, 412),
        ({"If-Modified-Since": "Thu, 01 Jan 2099 00:00:00 GMT"}, 200),
    ]
    for headers, status in wanted:
        slow, some = front.ask(path, Cookie=kits, **headers)
        asked.since()
        fast, same = front.ask(path, Cookie=holding(kits, given), **headers)
        assert asked.since() == 0, headers
        assert (fast.status, slow.status) == (status, status), headers
        assert same == some
        assert undated(fast) == without_passes(slow), headers


def only_copy():
    (folder,) = default_storage.listdir(stamped.FOLDER)[0]
    (name,) = default_storage.listdir(f"{stamped.FOLDER}/{folder}")[1]
    return f"{stamped.FOLDER}/{folder}/{name}"


def test_the_page_of_a_clue_gives_passes_too(front, knit_along, path, kits, given, asked):
    answer, page = front.ask(f"/k/{knit_along.slug}/clues/1/", Cookie=kits)
    assert list(passes_on(answer)) == [path]
    assert passes.NAME.encode() not in page
    assert asked.since() == 1
    assert front.ask(path, Cookie=holding(kits, passes_on(answer)[path]))[0].status == 200
    assert asked.since() == 0


@pytest.mark.parametrize(
    "name", ["Row 1, über ¾.pdf", "it's 100%.pdf", "a|b=c; d, e.pdf", "x" * 116 + ".pdf"]
)
def test_a_file_keeps_its_name_whatever_is_in_it(front, path, kits, asked, name):
    Attachment.objects.update(name=name)
    slow, _ = front.ask(path, Cookie=kits)
    asked.since()
    fast, _ = front.ask(path, Cookie=holding(kits, passes_on(slow)[path]))
    assert asked.since() == 0
    assert fast.headers["Content-Disposition"] == slow.headers["Content-Disposition"]


def goes_to_the_site(front, asked, path, cookies, status):
    """Assert that a request is answered by the site, as it is without a pass."""
    bare = "; ".join(part for part in cookies.split("; ") if not part.startswith(passes.NAME))
    for method in BOTH:
        asked.since()
        with_it, body = front.ask(path, method, Cookie=cookies)
        assert asked.since() == 1
        without, same = front.ask(path, method, Cookie=bare)
        assert with_it.status == without.status == status
        assert TOKEN.sub(b"", body) == TOKEN.sub(b"", same)
        assert undated(with_it) == undated(without)


def test_a_pass_is_of_no_use_in_another_session(front, knit_along, path, kits, given, asked):
    """Not to a stranger, a visitor, another participant, or Kit herself after she signed out."""
    rin = make_participant(knit_along, "Rin")
    for session, status in (
        (cookie(make_user("Sam")), 404),
        (cookie(rin.user), 200),
        ("sessionid=", 302),
        ("other=1", 302),
        (f"{kits[:-1]}A", 302),
        (kits.replace("sessionid=", "sessionid=|"), 302),
    ):
        goes_to_the_site(front, asked, path, holding(session, given), status)


def test_an_altered_pass_is_none(front, path, kits, given, asked):
    name, copy, ends, signature = given.split("|")
    person, digest = copy.split("-")
    later = str(int(ends) + 60)
    other = signature[:-1] + ("A" if signature[-1] != "A" else "Q")
    for fields in (
        ("other.pdf", copy, ends, signature),
        (name, f"{int(person) + 1}-{digest}", ends, signature),
        (name, f"{person}-{digest[::-1]}", ends, signature),
        (name, copy, later, signature),
        (name, copy, ends, other),
        (name, copy, ends, ""),
        (name, copy, ends, signature + "=="),
        (name, copy, ends),
        (name, copy, signature),
        (name, copy, f"{ends},{later}", signature),
        (name, f"../../clues/{copy}", ends, signature),
        (name, copy, ends, signature, signature),
        (f"{name}%0d%0aX-Own: 1", copy, ends, signature),
    ):
        goes_to_the_site(front, asked, path, holding(kits, "|".join(fields)), 200)


def test_a_pass_ends(front, path, kits, given, asked, monkeypatch):
    assert front.ask(path, Cookie=holding(kits, given))[0].status == 200
    assert asked.since() == 0
    monkeypatch.setattr(passes, "LIFE", timedelta(seconds=-1))
    answer, _ = front.ask(path, Cookie=kits)
    goes_to_the_site(front, asked, path, holding(kits, passes_on(answer)[path]), 200)


def test_a_pass_is_for_one_file_alone(front, knit_along, path, kits, given, asked):
    """Nor for the same file under another address."""
    other = file_address(knit_along, attach(Clue.objects.get(), PDF + b"\n", name="other.pdf"))
    front.ask(other, Cookie=kits)
    goes_to_the_site(front, asked, other, holding(kits, given), 200)
    for elsewhere in (path.replace("/clues/1/", "/clues/2/"), path.replace("/k/", "/k/x")):
        goes_to_the_site(front, asked, elsewhere, holding(kits, given), 404)


def test_a_copy_not_made_yet_is_made_by_the_site(front, knit_along, path, kits, asked):
    answer, _ = front.ask(f"/k/{knit_along.slug}/clues/1/", Cookie=kits)
    value = passes_on(answer)[path]
    asked.since()
    assert front.ask(path, Cookie=holding(kits, value))[0].status == 200
    assert asked.since() == 1
    assert front.ask(path, Cookie=holding(kits, value))[0].status == 200
    assert asked.since() == 0


def test_another_name_is_asked_for_anew(front, path, kit, kits, given, asked):
    type(kit.user).objects.filter(pk=kit.user_id).update(name="Kit Marlow")
    answer, _ = front.ask(path, Cookie=kits)
    asked.since()
    _, body = front.ask(path, Cookie=holding(kits, passes_on(answer)[path]))
    assert asked.since() == 0
    (page,) = PdfReader(BytesIO(body)).pages
    assert "For Kit Marlow ·" in page.extract_text()


def test_of_whoever_is_erased_nothing_is_left_to_hand_out(front, path, kit, kits, given, asked):
    """Though their pass is still good."""
    erase_participant(kit, why="wish", now=timezone.now())
    goes_to_the_site(front, asked, path, holding(kits, given), 404)


def test_a_page_has_no_more_passes_than_nginx_takes(front, knit_along, file, kits, asked):
    """A page whose headers are too large for nginx would be none at all (502)."""
    clue = Clue.objects.get()
    files = [attach(clue, name=f"über {number}.pdf".rjust(120, "ü")) for number in range(12)]
    answer, page = front.ask(f"/k/{knit_along.slug}/clues/1/", Cookie=kits)
    assert answer.status == 200
    assert page.count(b"/files/") == 1 + len(files)
    given = passes_on(answer)
    assert (
        list(given)
        == [file_address(knit_along, file) for file in clue.attachments.all()][: len(given)]
    )
    assert 1 < len(given) < len(files)
    taken = sum(len(f"Set-Cookie: {one}") for one in answer.headers.get_all("Set-Cookie"))
    assert taken < 2_500


def test_what_nginx_finds_but_cannot_send_is_asked_of_the_site(front, path, kits, given, asked):
    """As when a copy is dropped between nginx's two looks: a pipe is there, and is no file."""
    copy = Path(default_storage.path(only_copy()))
    copy.unlink()
    os.mkfifo(copy)
    front.ask(path, Cookie=holding(kits, given))
    assert asked.since() == 1


def test_other_methods_are_the_sites(front, path, kits, given, asked):
    for method in ("POST", "PUT", "DELETE", "OPTIONS"):
        asked.since()
        with_it, _ = front.ask(path, method, Cookie=holding(kits, given))
        assert asked.since() == 1
        assert with_it.status == front.ask(path, method, Cookie=kits)[0].status


def test_passes_open_nothing_else(front, knit_along, file, path, kits, given, asked):
    """Neither the folder of copies, nor what was uploaded, nor a picture."""
    picture = attach(
        Clue.objects.get(), b"RIFF", name="edge.webp", kind="image", content_type="image/webp"
    )
    shown = file_address(knit_along, picture)
    answer, body = front.ask(shown, Cookie=kits)
    assert (body, passes_on(answer)) == (b"RIFF", {})
    assert front.ask(f"/private/{only_copy()}", Cookie=holding(kits, given))[0].status == 404
    for elsewhere in (
        f"/{only_copy()}",
        f"{path}../../../../../../{only_copy()}",
        f"{path[:-1]}%2f..%2f..%2fsettings/",
        f"{path[:-1]}%00/",
        f"{path}x/",
        "/none",
    ):
        asked.since()
        refused = front.ask(elsewhere, Cookie=holding(kits, given))[0].status == 400
        assert asked.since() == (0 if refused else 1), elsewhere


def test_nginx_finds_nothing_by_a_pass_for_a_clue_that_never_came_out(
    front, knit_along, path, kit, kits, asked
):
    """Even with her copy at hand, as one who was a test knitter has: nobody gives her a pass."""
    Clue.objects.update(release_at=timezone.now() + timedelta(hours=1))
    file = Attachment.objects.get()
    stamped.make_copy(stamped.copy_path(file.key, kit), file, kit)
    for address in (path, f"/k/{knit_along.slug}/clues/1/"):
        answer, _ = front.ask(address, Cookie=kits)
        assert (answer.status, passes_on(answer)) == (404, {})
    for value in (
        "",
        "chart.pdf",
        f"chart.pdf|{only_copy().rpartition('/')[2]}|9999999999|" + "A" * 22,
    ):
        goes_to_the_site(front, asked, path, holding(kits, value), 404)


def test_the_secret_is_in_a_file_that_nobody_else_reads(front):
    secret = front.folder / "secret"
    assert secret.stat().st_mode & 0o777 == 0o600
    assert re.fullmatch(r'set \$pass_secret "[0-9a-f]{64}";\n', secret.read_text())
