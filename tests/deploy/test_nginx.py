"""Private files through a real nginx, set up by the sample that is shipped."""

from datetime import timedelta
from io import BytesIO
from pathlib import Path

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.utils import timezone
from pypdf import PdfReader

from kal.demo.pdf import page_pdf
from schedule.models import Clue
from tests.builders import make_clue, make_knit_along, make_participant, make_user
from tests.conftest import signed_in
from tests.embargo.answers import TOKEN
from tests.servers import running_nginx
from tests.web.test_clues import attach, file_address

pytestmark = pytest.mark.django_db(transaction=True)
PDF = page_pdf("Clue 1", "Knit to the end.")
SECRET = "0123456789abcdef" * 4


@pytest.fixture
def front(live_server, settings, tmp_path):
    settings.NGINX_FILES = "/private/"
    settings.NGINX_SECRET = SECRET
    settings.ALLOWED_HOSTS = ["localhost"]
    files = Path(settings.MEDIA_ROOT)
    files.mkdir(exist_ok=True)
    with running_nginx(
        tmp_path / "nginx", site=live_server.thread.port, files=files, secret=SECRET
    ) as front:
        yield front


@pytest.fixture
def knit_along(db):
    return make_knit_along(cast_on_at=timezone.now() - timedelta(hours=1))


@pytest.fixture
def file(knit_along):
    return attach(make_clue(knit_along), PDF)


def cookie(user):
    return f"sessionid={signed_in(user).cookies['sessionid'].value}"


@pytest.fixture
def kits(kit):
    return cookie(kit.user)


def test_a_stamped_pdf_comes_from_nginx_with_the_sites_own_headers(front, knit_along, file, kits):
    answer, body = front.ask(file_address(knit_along, file), Cookie=kits)
    (page,) = PdfReader(BytesIO(body)).pages
    assert "For Kit ·" in page.extract_text()
    assert answer.status == 200
    assert answer.headers["Content-Type"] == "application/pdf"
    assert answer.headers["Content-Disposition"] == 'attachment; filename="chart.pdf"'
    assert answer.headers["Cache-Control"] == "private, max-age=3600"
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert answer.headers["Last-Modified"] is None
    assert answer.headers["X-Accel-Redirect"] is None
    assert answer.headers["ETag"]


def test_ranges_and_conditions_are_nginxs(front, knit_along, file, kits):
    """RFC 9110, 14.1.2 and 13.1: the same as Django answers by itself."""
    path = file_address(knit_along, file)
    whole, body = front.ask(path, Cookie=kits)
    etag, size = whole.headers["ETag"], len(body)
    part, some = front.ask(path, Cookie=kits, Range="bytes=5-14")
    assert (part.status, part.headers["Content-Range"]) == (206, f"bytes 5-14/{size}")
    assert some == body[5:15]
    assert front.ask(path, Cookie=kits, Range="bytes=-9")[1] == body[-9:]
    past, _ = front.ask(path, Cookie=kits, Range=f"bytes={size}-")
    assert (past.status, past.headers["Content-Range"]) == (416, f"bytes */{size}")
    several, all_of_it = front.ask(path, Cookie=kits, Range="bytes=0-1,5-9")
    assert (several.status, all_of_it) == (200, body)
    conditional = {"Cookie": kits, "Range": "bytes=0-1"}
    assert front.ask(path, **conditional, If_Range=etag)[0].status == 206
    assert front.ask(path, **conditional, If_Range='"other"')[0].status == 200
    assert front.ask(path, Cookie=kits, If_None_Match=etag)[0].status == 304
    head, nothing = front.ask(path, "HEAD", Cookie=kits)
    assert (head.status, head.headers["Content-Length"], nothing) == (200, str(size), b"")


def test_before_its_instant_a_file_answers_as_one_that_does_not_exist(
    front, knit_along, file, kits
):
    Clue.objects.update(release_at=timezone.now() + timedelta(hours=1))
    here = file_address(knit_along, file)
    missing = here.replace(str(file.key), "00000000-0000-0000-0000-000000000000")
    for method, headers in (
        ("GET", {}),
        ("HEAD", {}),
        ("GET", {"Range": "bytes=0-9"}),
        ("GET", {"If-None-Match": "*"}),
    ):
        hidden, absent = (
            front.ask(path, method, Cookie=kits, **headers) for path in (here, missing)
        )
        assert hidden[0].status == absent[0].status == 404
        assert TOKEN.sub(b"", hidden[1]) == TOKEN.sub(b"", absent[1])
        assert undated(hidden[0]) == undated(absent[0])
    assert not default_storage.exists("stamped")


def undated(answer):
    """All headers, less the date and the value of the token that changes by itself."""
    return sorted(
        (name, value.partition("=")[0] if name == "Set-Cookie" else value)
        for name, value in answer.headers.items()
        if name != "Date"
    )


def test_the_folder_itself_is_out_of_reach(front, knit_along, file, kits):
    for path in (
        f"/private/{file.file.name}",
        f"/private/../private/{file.file.name}",
        f"//private/{file.file.name}",
        f"/%70rivate/{file.file.name}",
        "/private/",
    ):
        assert front.ask(path, Cookie=kits)[0].status == 404, path


def test_a_stranger_and_a_visitor_get_nothing(front, knit_along, file):
    path = file_address(knit_along, file)
    assert front.ask(path, Cookie=cookie(make_user("Sam")))[0].status == 404
    assert front.ask(path)[0].status == 302


def test_photos_come_from_nginx_to_their_owner_alone(front, knit_along, kit, kits):
    photo = kit.photos.create(width=4, height=3, image=stored_photo())
    path = f"/k/{knit_along.slug}/palette/photos/{photo.pk}/image/"
    answer, body = front.ask(path, Cookie=kits)
    assert (answer.status, body) == (200, b"RIFFWEBP")
    assert answer.headers["Content-Type"] == "image/webp"
    other = make_participant(knit_along, "Rin")
    assert front.ask(path, Cookie=cookie(other.user))[0].status == 404


def stored_photo():
    return default_storage.save("photos/abc.webp", ContentFile(b"RIFFWEBP"))


def test_an_upload_under_way_is_in_no_file(front):
    """Its metadata would be there too; nginx keeps larger bodies than its buffer on disk."""
    connection = front.connect()
    connection.putrequest("POST", "/sign-in/")
    connection.putheader("Content-Length", str(20_000_000))
    connection.putheader("Content-Type", "application/octet-stream")
    connection.endheaders()
    connection.send(bytes(5_000_000))
    assert [path for path in (front.folder / "client_body").rglob("*") if path.is_file()] == []
    connection.close()


def test_an_upload_has_its_limit(front):
    assert front.ask("/sign-in/", "POST", bytes(1000), Content_Length="27262977")[0].status == 413
