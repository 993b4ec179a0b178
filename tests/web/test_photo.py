"""Photos: whatever comes in, what is stored is upright sRGB pixels and nothing else.

Pictures are synthesised here. Colour conversions are compared with colour-science, an
independent library, and the profiles are written from the published primaries.
"""

import contextlib
import io
import struct
import time
import zlib
from concurrent.futures import ThreadPoolExecutor
from threading import get_ident

import numpy as np
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone
from PIL import Image, ImageCms

from palettes import photos
from palettes.colour.spaces import hex_to_lab
from palettes.errors import PhotoRefused
from palettes.models import Photo
from palettes.photos import LONG_SIDE, MAX_BYTES, read_photo
from tests.builders import make_palette, make_participant
from tests.conftest import signed_in
from tests.photo_files import display_p3_profile, encoded, grey_profile, png_header
from tests.yardsticks import colour_science

FLAT = (120, 80, 60)
# Top left red, top right green, bottom left blue, bottom right white: every turn shows.
CORNERS = {
    (0, 0): (200, 30, 30),
    (1, 0): (30, 160, 60),
    (0, 1): (30, 60, 190),
    (1, 1): (240, 240, 240),
}


def flat(size=(200, 150), colour=FLAT, mode="RGB"):
    return Image.new(mode, size, colour)


def quarters(width=400, height=300):
    image = Image.new("RGB", (width, height))
    for (column, row), colour in CORNERS.items():
        box = (
            column * width // 2,
            row * height // 2,
            (column + 1) * width // 2,
            (row + 1) * height // 2,
        )
        image.paste(colour, box)
    return image


def decoded(picture):
    return np.asarray(Image.open(io.BytesIO(picture.webp)).convert("RGB")).astype(float)


def middle(picture):
    pixels = decoded(picture)
    return pixels[pixels.shape[0] // 2, pixels.shape[1] // 2]


def corner(picture, column, row):
    pixels = decoded(picture)
    height, width = pixels.shape[:2]
    return pixels[height // 4 + row * height // 2, width // 4 + column * width // 2]


def lab_of(red, green, blue):
    return hex_to_lab(f"#{red:02x}{green:02x}{blue:02x}")


def exif(orientation=None, *, secrets=False):
    tags = Image.Exif()
    if orientation:
        tags[0x0112] = orientation
    if secrets:
        tags[0x010F] = "SECRETCAM"
        tags[0x010E] = "SECRETNOTE"
        tags.get_ifd(0x8825).update({1: "N", 2: (47.0, 33.0, 12.0), 3: "E", 4: (8.0, 1.0, 5.0)})
    return tags.tobytes()


def with_code_points(data, primaries, curve):
    """Return a PNG or AVIF that names its colours by code points of ITU-T H.273."""
    if data.startswith(b"\x89PNG"):
        body = b"cICP" + bytes([primaries, curve, 0, 1])
        chunk = struct.pack(">I", 4) + body + struct.pack(">I", zlib.crc32(body))
        return data[:33] + chunk + data[33:]
    place = data.index(b"colrnclx") + 8
    return data[:place] + struct.pack(">HH", primaries, curve) + data[place + 4 :]


class TestReading:
    """A photo comes out upright, in sRGB and small enough."""

    @pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "HEIF", "AVIF"])
    def test_reads_every_kind_a_phone_makes(self, kind):
        picture = read_photo(encoded(flat(), kind))
        assert (picture.width, picture.height) == (200, 150)
        assert middle(picture) == pytest.approx(FLAT, abs=4)

    @pytest.mark.parametrize("kind", ["JPEG", "WEBP", "PNG", "HEIF", "AVIF"])
    @pytest.mark.parametrize("orientation", range(1, 9))
    def test_stands_upright(self, kind, orientation):
        """EXIF orientation: JEITA CP-3451 table 6, as Pillow's own transpose undoes it."""
        turned = quarters()
        undo = {
            2: Image.Transpose.FLIP_LEFT_RIGHT,
            3: Image.Transpose.ROTATE_180,
            4: Image.Transpose.FLIP_TOP_BOTTOM,
            5: Image.Transpose.TRANSPOSE,
            6: Image.Transpose.ROTATE_90,
            7: Image.Transpose.TRANSVERSE,
            8: Image.Transpose.ROTATE_270,
        }
        if orientation in undo:
            turned = turned.transpose(undo[orientation])
        picture = read_photo(encoded(turned, kind, exif=exif(orientation)))
        assert (picture.width, picture.height) == (400, 300)
        for (column, row), colour in CORNERS.items():
            assert corner(picture, column, row) == pytest.approx(colour, abs=12)

    @pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "HEIF", "AVIF"])
    def test_display_p3_becomes_srgb(self, kind):
        """Compared with colour-science's own Display P3 and sRGB."""
        coded = np.array([170, 90, 70])
        expected = colour_science.RGB_to_RGB(
            coded / 255,
            "Display P3",
            "sRGB",
            apply_cctf_decoding=True,
            apply_cctf_encoding=True,
        )
        data = encoded(flat(colour=tuple(coded)), kind, icc_profile=display_p3_profile())
        picture = read_photo(data)
        assert not picture.is_profile_unreadable
        assert middle(picture) == pytest.approx(expected * 255, abs=4)
        assert abs(middle(picture)[0] - coded[0]) > 8

    @pytest.mark.parametrize("kind", ["PNG", "AVIF"])
    def test_code_points_say_display_p3_without_a_profile(self, kind):
        """As above; where they stand: W3C PNG third edition (cICP), ISO/IEC 14496-12 (nclx)."""
        coded = np.array([170, 90, 70])
        expected = colour_science.RGB_to_RGB(
            coded / 255, "Display P3", "sRGB", apply_cctf_decoding=True, apply_cctf_encoding=True
        )
        picture = read_photo(with_code_points(encoded(flat(colour=tuple(coded)), kind), 12, 13))
        assert middle(picture) == pytest.approx(expected * 255, abs=4)

    def test_a_heic_may_say_display_p3_without_a_profile(self):
        """Code points 12 and 13 of ITU-T H.273; compared with colour-science's Display P3."""
        coded = np.array([170, 90, 70])
        expected = colour_science.RGB_to_RGB(
            coded / 255, "Display P3", "sRGB", apply_cctf_decoding=True, apply_cctf_encoding=True
        )
        tags = {
            "color_primaries": 12,
            "transfer_characteristics": 13,
            "matrix_coefficients": 6,
            "full_range_flag": 1,
        }
        data = encoded(flat(colour=tuple(coded)), "HEIF", save_nclx_profile=True, **tags)
        assert middle(read_photo(data)) == pytest.approx(expected * 255, abs=4)

    def test_an_srgb_profile_changes_nothing(self):
        profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
        picture = read_photo(encoded(flat(), icc_profile=profile))
        assert middle(picture) == pytest.approx(FLAT, abs=2)

    @pytest.mark.parametrize("profile", [b"garbage", b"\0" * 200, display_p3_profile()[:150]])
    @pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
    def test_a_garbage_profile_is_taken_for_srgb_and_told(self, kind, profile):
        picture = read_photo(encoded(flat(), kind, icc_profile=profile))
        assert picture.is_profile_unreadable
        assert middle(picture) == pytest.approx(FLAT, abs=4)

    def test_a_profile_for_printing_inks_on_an_rgb_photo_is_told(self):
        """A LAB profile does not fit RGB pixels, though it can be read."""
        profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("LAB")).tobytes()
        assert read_photo(encoded(flat(), icc_profile=profile)).is_profile_unreadable

    def test_a_large_photo_is_reduced_in_linear_light(self):
        """Black and white by turns mix to half the light: sRGB 188, not the 128 of their codes.

        0.5 linear is 0.7354 coded by IEC 61966-2-1.
        """
        checks = np.indices((1800, 3200)).sum(axis=0) % 2 * 255
        image = Image.fromarray(np.repeat(checks[..., None], 3, axis=2).astype(np.uint8))
        picture = read_photo(encoded(image))
        assert (picture.width, picture.height) == (LONG_SIDE, 900)
        assert middle(picture) == pytest.approx([187.5] * 3, abs=1.5)

    def test_sixteen_bit_grey_is_scaled_not_clipped(self):
        image = Image.fromarray(np.full((100, 100), 0x8000, dtype=np.uint16))
        assert middle(read_photo(encoded(image))) == pytest.approx([128] * 3, abs=1)

    @pytest.mark.parametrize(
        ("image", "colour"),
        [
            (flat(mode="L", colour=90), (90, 90, 90)),
            (flat(mode="1", colour=1), (255, 255, 255)),
            (flat(mode="LA", colour=(90, 255)), (90, 90, 90)),
            (flat(mode="LA", colour=(0, 0)), (255, 255, 255)),
            (flat(mode="RGBA", colour=(0, 0, 0, 0)), (255, 255, 255)),
            (flat(mode="RGBA", colour=(0, 0, 0, 128)), (127, 127, 127)),
            (flat().convert("P"), FLAT),
        ],
        ids=[
            *("grey", "black-and-white", "grey-alpha", "grey-transparent"),
            *("transparent", "half-transparent", "indexed"),
        ],
    )
    def test_other_kinds_of_pixels_become_rgb_on_white(self, image, colour):
        assert middle(read_photo(encoded(image))) == pytest.approx(colour, abs=26)

    @pytest.mark.parametrize("mode", ["L", "LA"])
    def test_a_profile_of_greys_is_honoured_with_and_without_transparency(self, mode):
        """Code 90 at gamma 1.8 is 0.1534 of light, which is 109.2 in sRGB (IEC 61966-2-1)."""
        image = flat(mode=mode, colour=90 if mode == "L" else (90, 255))
        picture = read_photo(encoded(image, icc_profile=grey_profile(1.8)))
        assert middle(picture) == pytest.approx([109.2] * 3, abs=2)
        assert not picture.is_profile_unreadable

    def test_a_grey_photo_with_a_profile_of_colours_is_no_damaged_profile(self):
        picture = read_photo(encoded(flat(mode="L", colour=90), icc_profile=display_p3_profile()))
        assert middle(picture) == pytest.approx([90] * 3, abs=2)
        assert not picture.is_profile_unreadable

    def test_the_stored_file_keeps_a_spots_colour(self):
        """The bound that photos.py states for its quality."""
        dice = np.random.default_rng(7)
        noisy = np.clip(dice.normal(FLAT, 25, (400, 400, 3)), 0, 255).astype(np.uint8)
        picture = read_photo(encoded(Image.fromarray(noisy)))

        def lab(pixels):
            linear = colour_science.cctf_decoding(pixels / 255, "sRGB").mean(axis=(0, 1))
            return colour_science.XYZ_to_Lab(
                colour_science.RGB_to_XYZ(linear, "sRGB"), np.array([0.3127, 0.3290])
            )

        first, second = lab(noisy[100:180, 100:180]), lab(decoded(picture)[100:180, 100:180])
        assert colour_science.delta_E(first, second, method="CIE 2000") < 1.0


def test_photos_are_read_one_at_a_time(monkeypatch):
    """However many come at once, they take the memory of one."""
    under_way, most = set(), []

    def decode(image):
        under_way.add(get_ident())
        most.append(len(under_way))
        time.sleep(0.01)  # long enough for the others to come in, were they let
        under_way.discard(get_ident())
        return decoded(image)

    decoded = photos._decode
    monkeypatch.setattr(photos, "_decode", decode)
    with ThreadPoolExecutor(4) as crowd:
        read = list(crowd.map(read_photo, [encoded(flat())] * 8))
    assert len(read) == len(most) == 8
    assert max(most) == 1


class TestRefusing:
    """What cannot be used is refused in one sentence that says what would do."""

    @pytest.mark.parametrize(
        ("data", "sentence"),
        [
            (b"", "That file is empty; choose a photo."),
            (b"not a photo at all", "is not a photo this page can read"),
            (b"%PDF-1.7 whatever", "is not a photo this page can read"),
            (encoded(flat(), "GIF"), "is not a photo this page can read"),
            (encoded(flat(), "TIFF"), "is not a photo this page can read"),
            (encoded(flat(), "BMP"), "is not a photo this page can read"),
            (encoded(flat((1, 1))), "1 by 1 pixels, too few to pick a spot from"),
            (encoded(flat((20000, 40))), "too few to pick a spot from"),
            (png_header(10000, 8000), "10000 by 8000 pixels, 80 megapixels, and the limit is 60"),
            (png_header(60001, 60000), "3600 megapixels"),
            (encoded(flat((6200, 5000)), "WEBP", method=0), "31 megapixels, and the limit is 30"),
            (png_header(300, 300), "damaged or cut short"),
            (encoded(flat(colour=(0, 90, 90, 20), mode="CMYK"), "JPEG"), "printing inks (CMYK)"),
        ],
    )
    def test_in_one_sentence(self, data, sentence):
        with pytest.raises(PhotoRefused) as refused:
            read_photo(data)
        assert sentence in str(refused.value)

    @pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "HEIF", "AVIF"])
    def test_one_cut_short(self, kind):
        data = encoded(quarters(), kind)
        with pytest.raises(PhotoRefused):
            read_photo(data[: len(data) * 2 // 3])

    @pytest.mark.parametrize("kind", ["PNG", "WEBP", "AVIF"])
    def test_one_that_moves(self, kind):
        frames = [flat(colour=(n * 60, 0, 0)) for n in range(3)]
        data = encoded(frames[0], kind, save_all=True, append_images=frames[1:])
        with pytest.raises(PhotoRefused, match="That picture moves"):
            read_photo(data)

    def test_a_jpeg_of_endless_scans(self):
        """A scan takes few bytes, and each goes over the whole picture."""
        data = encoded(flat(), "JPEG", progressive=True)
        last = data[data.rindex(b"\xff\xda") : -2]
        assert read_photo(data[:-2] + last * 20 + data[-2:]).webp
        with pytest.raises(PhotoRefused, match="damaged or cut short"):
            read_photo(data[:-2] + last * 200 + data[-2:])

    def test_a_jpeg_of_endless_segments(self):
        data = encoded(flat(), "JPEG")
        with pytest.raises(PhotoRefused, match="damaged or cut short"):
            read_photo(data[:2] + b"\xff\xfe\x00\x02" * 20_000 + data[2:])

    def test_a_film_behind_a_jpeg_is_no_part_of_it(self):
        """As phones append one; what looks like a scan in it is chance."""
        thumbnail = b"\xff\xe1\x00\x06\xff\xd9\xff\xda"  # in a segment, so it ends nothing
        data = encoded(flat(), "JPEG", progressive=True)
        assert read_photo(data[:2] + thumbnail + data[2:] + b"\xff\xda\x00\x02" * 500).webp

    def test_one_of_too_many_bytes(self):
        with pytest.raises(PhotoRefused, match="That file has 26 MB and the limit is 25 MB"):
            read_photo(b"\xff\xd8\xff" + b"\0" * (MAX_BYTES + 700_000))

    @pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "HEIF", "AVIF"])
    def test_broken_bytes_never_crash(self, kind):
        """Seeded noise in real files: a picture or a sentence, and nothing else."""
        dice = np.random.default_rng(11)
        whole = bytearray(encoded(quarters(120, 90), kind, exif=exif(6, secrets=True)))
        for _ in range(60):
            broken = bytearray(whole)
            for place in dice.integers(0, len(broken), 6):
                broken[place] = int(dice.integers(0, 256))
            with contextlib.suppress(PhotoRefused):
                assert read_photo(bytes(broken)).webp


@pytest.fixture
def palette(kit):
    return make_palette(kit)


def address(name, knit_along, *more):
    return reverse(f"palettes:{name}", args=[knit_along.slug, *more])


def upload(client, knit_along, data, name="IMG_1.jpg"):
    file = SimpleUploadedFile(name, data, content_type="image/jpeg")
    return client.post(address("photos", knit_along), {"photo": file})


@pytest.fixture
def photo(as_kit, kit, knit_along):
    upload(as_kit, knit_along, encoded(quarters()))
    return kit.photos.get()


class TestUploading:
    """What reaches the disk is pixels, and only their owner can have them back."""

    def test_nothing_of_the_camera_or_the_place_reaches_the_disk(
        self, as_kit, kit, knit_along, settings, tmp_path
    ):
        # Larger than what Django keeps in memory by itself; a temporary file would fail here.
        settings.FILE_UPLOAD_TEMP_DIR = str(tmp_path / "nowhere")
        noise = np.random.default_rng(3).integers(0, 255, (1400, 1800, 3), dtype=np.uint8)
        data = encoded(
            Image.fromarray(noise),
            "JPEG",
            quality=98,
            exif=exif(secrets=True),
            comment=b"SECRETCOMMENT",
            icc_profile=display_p3_profile(),
        )
        assert len(data) > settings.FILE_UPLOAD_MAX_MEMORY_SIZE
        assert b"SECRETCAM" in data
        response = upload(as_kit, knit_along, data, name="SECRETNAME.jpg")
        assert response.status_code == 302
        stored = [path for path in settings.MEDIA_ROOT.rglob("*") if path.is_file()]
        assert len(stored) == 1
        written = stored[0].read_bytes()
        for secret in (b"SECRET", b"Exif", b"EXIF", b"ICCP", b"XMP ", b"GPS"):
            assert secret not in written
        assert "SECRET" not in str(stored[0])
        with Image.open(stored[0]) as image:
            assert not image.getexif()
            assert set(image.info) <= {"loop", "background", "timestamp", "duration"}

    @pytest.mark.parametrize(
        ("data", "sentence"),
        [
            (b"plain words", "is not a photo this page can read"),
            (png_header(10000, 8000), "80 megapixels, and the limit is 60"),
            (b"", "That file is empty; choose a photo."),
            (b"\xff\xd8" + b"\0" * (MAX_BYTES + 1_000_000), "26 MB and the limit is 25 MB"),
        ],
        ids=["words", "80-megapixels", "empty", "26-MB"],
    )
    def test_a_refused_upload_says_why_and_stores_nothing(
        self, as_kit, knit_along, settings, data, sentence
    ):
        response = upload(as_kit, knit_along, data)
        assert response.status_code == 422
        assert sentence in response.content.decode()
        assert not Photo.objects.exists()
        assert not [path for path in settings.MEDIA_ROOT.rglob("*") if path.is_file()]

    def test_no_file_at_all_says_what_to_do(self, as_kit, knit_along):
        response = as_kit.post(address("photos", knit_along), {})
        assert response.status_code == 422
        assert "Choose a photo to upload" in response.content.decode()

    def test_a_second_file_in_one_upload_is_not_kept(self, as_kit, kit, knit_along):
        files = [SimpleUploadedFile(f"{n}.png", encoded(flat())) for n in range(3)]
        as_kit.post(address("photos", knit_along), {"photo": files})
        assert kit.photos.count() == 1

    def test_a_garbage_profile_is_told_on_the_page(self, as_kit, knit_along):
        file = SimpleUploadedFile("x.png", encoded(flat(), icc_profile=b"garbage"))
        response = as_kit.post(address("photos", knit_along), {"photo": file}, follow=True)
        assert "colour profile could not be read" in response.content.decode()

    def test_closed_palettes_take_no_photo(self, as_kit, knit_along):
        knit_along.palettes_closed_at = timezone.now()
        knit_along.save()
        response = upload(as_kit, knit_along, encoded(flat()))
        assert response.status_code == 422
        assert not Photo.objects.exists()

    def test_removing_a_photo_removes_its_file(
        self, as_kit, knit_along, photo, settings, django_capture_on_commit_callbacks
    ):
        with django_capture_on_commit_callbacks(execute=True):
            as_kit.post(address("remove_photo", knit_along, photo.pk))
        assert not Photo.objects.exists()
        assert not [path for path in settings.MEDIA_ROOT.rglob("*") if path.is_file()]


class TestWhoMay:
    """A photo is its owner's alone."""

    PAGES = ("photo", "photo_image", "photo_daylight", "photo_grey")
    ACTIONS = (
        *("keep_marks", "add_mark", "remove_mark", "find_marks", "apply_marks"),
        "remove_photo",
    )

    @pytest.mark.parametrize("page", PAGES)
    def test_its_owner_sees_it(self, as_kit, knit_along, photo, page):
        response = as_kit.get(address(page, knit_along, photo.pk))
        assert response.status_code == 200

    @pytest.mark.parametrize("page", PAGES[1:])
    def test_no_shared_cache_keeps_it(self, as_kit, knit_along, photo, page):
        response = as_kit.get(address(page, knit_along, photo.pk))
        assert response["Cache-Control"].startswith("private")
        assert response["Content-Type"] == "image/webp"
        assert response.content[8:12] == b"WEBP"

    @pytest.mark.parametrize("page", PAGES)
    def test_others_get_404(self, as_hana, as_sam, knit_along, photo, page):
        ann = signed_in(make_participant(knit_along, "Ann").user)
        for client in (as_hana, as_sam, ann):
            assert client.get(address(page, knit_along, photo.pk)).status_code == 404

    @pytest.mark.parametrize("page", PAGES)
    def test_a_visitor_is_asked_to_sign_in(self, client, knit_along, photo, page):
        assert client.get(address(page, knit_along, photo.pk)).status_code == 302

    @pytest.mark.parametrize("page", [*PAGES, *ACTIONS])
    def test_no_such_photo_is_404(self, as_kit, knit_along, page):
        url = address(page, knit_along, 999_999)
        reply = as_kit.get(url) if page in self.PAGES else as_kit.post(url)
        assert reply.status_code == 404

    @pytest.mark.parametrize("action", ACTIONS)
    def test_others_cannot_act_on_it(self, as_hana, as_sam, knit_along, photo, action):
        for client in (as_hana, as_sam):
            response = client.post(address(action, knit_along, photo.pk), {"x": 1, "y": 1})
            assert response.status_code == 404
        assert Photo.objects.filter(pk=photo.pk).exists()

    def test_wrong_methods_are_405(self, as_kit, knit_along, photo):
        for page in self.PAGES:
            assert as_kit.post(address(page, knit_along, photo.pk)).status_code == 405
        for page in self.ACTIONS:
            assert as_kit.get(address(page, knit_along, photo.pk)).status_code == 405
