"""Uploads that are broken, strange or meant to harm: one clear sentence on the page, nothing kept.

Each is sent as a browser sends it, and must be answered fast, whatever it claims to unpack to.
"""

import io
import re
import time
import zipfile
import zlib

import numpy as np
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image

from palettes.models import Photo
from tests.photo_files import display_p3_profile, encoded, png_header, png_with

FLAT = (120, 80, 60)
# Our choice, seconds: ten times what a good photo of this size takes here, to be sure on any day.
SOON = 5


def flat(size=(200, 150), colour=FLAT, mode="RGB"):
    return Image.new(mode, size, colour)


def moving(kind):
    frames = [flat(colour=(n * 60, 0, 0)) for n in range(3)]
    return encoded(frames[0], kind, save_all=True, append_images=frames[1:])


def cut(kind, share):
    data = encoded(flat(), kind)
    return data[: int(len(data) * share)]


def zeros(megabytes):
    return zlib.compress(b"\0" * (megabytes * 1_000_000))


def zip_file():
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as archive:
        archive.writestr("photo.jpg", encoded(flat(), "JPEG"))
    return buffer.getvalue()


def huge_jpeg():
    """Return a JPEG whose frame header claims 65500 by 65500 pixels."""
    data = bytearray(encoded(flat(), "JPEG"))
    start = data.index(b"\xff\xc0")
    data[start + 5 : start + 9] = (65500).to_bytes(2, "big") * 2
    return bytes(data)


REFUSED = {
    "no bytes": (b"", "That file is empty"),
    "words": (b"plain words", "is not a photo this page can read"),
    "a page": (b"<html><script>alert(1)</script>", "is not a photo this page can read"),
    "a drawing": (
        b"<svg xmlns='http://www.w3.org/2000/svg'/>",
        "is not a photo this page can read",
    ),
    "an archive": (zip_file(), "is not a photo this page can read"),
    "a program": (b"MZ" + b"\0" * 500, "is not a photo this page can read"),
    "only a signature": (b"\x89PNG\r\n\x1a\n", "damaged or cut short"),
    "JPEG cut short": (cut("JPEG", 0.7), "damaged or cut short"),
    "PNG cut short": (cut("PNG", 0.5), "damaged or cut short"),
    "WebP cut short": (cut("WEBP", 0.7), "damaged or cut short"),
    "HEIC cut short": (cut("HEIF", 0.7), "damaged or cut short"),
    "AVIF cut short": (cut("AVIF", 0.7), "damaged or cut short"),
    "a film": (b"\0\0\0\x18ftypisom" + b"\0" * 500, "is not a photo this page can read"),
    "60.006 megapixels": (png_header(10001, 6000), "61 megapixels, and the limit is 60"),
    "3600 megapixels of nothing": (png_header(60001, 60000), "3600 megapixels"),
    "4290 megapixels in a JPEG": (huge_jpeg(), "the limit is 60"),
    "a promise of 50 megapixels": (png_header(10000, 5000), "damaged or cut short"),
    "a moving PNG": (moving("PNG"), "That picture moves"),
    "a moving WebP": (moving("WEBP"), "That picture moves"),
    "a moving AVIF": (moving("AVIF"), "That picture moves"),
    "printing inks": (encoded(flat(colour=(0, 90, 90, 20), mode="CMYK"), "JPEG"), "(CMYK)"),
    "one pixel": (encoded(flat((1, 1))), "1 by 1 pixels"),
    "a thread": (encoded(flat((20000, 40))), "too few to pick a spot from"),
}
ACCEPTED = {
    "a garbage profile": encoded(flat(), icc_profile=b"garbage"),
    "half a profile": encoded(flat(), "JPEG", icc_profile=display_p3_profile()[:150]),
    "a profile of 100 MB of nothing": png_with(b"iCCP", b"x\0\0" + zeros(100)),
    "a note of 100 MB of nothing": png_with(b"zTXt", b"Comment\0\0" + zeros(100)),
    "sixteen bits": encoded(Image.fromarray(np.full((100, 100), 0x8000, dtype=np.uint16))),
    "a page hidden in a comment": encoded(flat(), "JPEG", comment=b"<script>alert(1)</script>"),
}


def upload(client, knit_along, data):
    file = SimpleUploadedFile("IMG_1.jpg", data, content_type="image/jpeg")
    start = time.monotonic()
    response = client.post(
        reverse("palettes:photos", args=[knit_along.slug]), {"photo": file}, follow=True
    )
    assert time.monotonic() - start < SOON
    return response


def stored_files(settings):
    return [path for path in settings.MEDIA_ROOT.rglob("*") if path.is_file()]


@pytest.mark.parametrize("name", REFUSED)
def test_is_refused_in_one_sentence(as_kit, knit_along, settings, name):
    data, sentence = REFUSED[name]
    response = upload(as_kit, knit_along, data)
    assert response.status_code == 422
    errors = re.findall(r'class="field-error"[^>]*>(.*?)</div>', response.content.decode(), re.S)
    told = re.findall(r"<p>(.*?)</p>", "".join(errors))
    assert len(told) == 1, "One sentence, beside the box of the file."
    assert sentence in told[0]
    assert told[0].endswith(".")
    assert not Photo.objects.exists()
    assert not stored_files(settings)


@pytest.mark.parametrize("name", ACCEPTED)
def test_is_taken_without_what_is_wrong_with_it(as_kit, knit_along, settings, name):
    response = upload(as_kit, knit_along, ACCEPTED[name])
    page = response.content.decode()
    if response.status_code == 422:
        assert "damaged or cut short" in page or "is not a photo" in page
        assert "nothing" in name, "Only what unpacks to far too much may be refused."
        return
    assert response.status_code == 200
    (file,) = stored_files(settings)
    assert b"script" not in file.read_bytes()
    assert ("colour profile could not be read" in page) == ("profile" in name)
