"""The only user of Pillow: an upload in, upright sRGB pixels out, and nothing else of it kept.

Whatever a file says beside its pixels (place, camera, time, names, thumbnails) is left behind,
because what is stored is encoded anew from an array of numbers.
"""

import re
import struct
import threading
import warnings
import zlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from io import BytesIO
from typing import IO, Any, Final

import numpy as np
from django.core.files.base import ContentFile
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _
from numpy.typing import NDArray
from PIL import ExifTags, Image, ImageCms
from pillow_heif import register_heif_opener

from palettes.colour.light import Box
from palettes.colour.measure import relit
from palettes.colour.spaces import P3_TO_LINEAR, Floats, Lab, linear_to_srgb, srgb_to_linear
from palettes.errors import PhotoRefused

register_heif_opener()
# Sizes are checked here, from the header and with a sentence of our own, before any decoding.
Image.MAX_IMAGE_PIXELS = None

MEGABYTE: Final = 1_000_000
MAX_BYTES: Final = 25 * MEGABYTE
MAX_PIXELS: Final = 60_000_000
# Our choice: WebP's decoder takes twice the memory for a pixel that the others do, and no camera
# writes it. What the worst photo of each format takes is in docs/photos.md.
MAX_PIXELS_OF: Final = {"WEBP": 30_000_000}
# Our choice: on 1600 pixels a shelf of forty skeins still gives each some forty pixels a side.
LONG_SIDE: Final = 1600
# Our choice: under this there is no spot to pick.
MIN_SIDE: Final = 32
# Our choice: at 95 the mean of a spot moves by less than 1 CIEDE2000 even on pure noise, half of
# what is just noticeable in fabric (tests/web/test_photo.py), at a seventh of the lossless size.
WEBP_QUALITY: Final = 95
# Our choice: at 90 the mean of a drawn stripe moves by less than 1 CIEDE2000
# (tests/web/test_pictures_page.py), at an eighth of the size of a PNG.
PICTURE_QUALITY: Final = 90

# Copies for a page. Our choice: at these a knitted picture at 480 pixels has 27, 37 and 35 kB and
# shows no blocks; AVIF at speed 6 is a twentieth smaller and takes three times as long.
COPY_FORMATS: Final[dict[str, dict[str, int | bool]]] = {
    "avif": {"quality": 60, "speed": 8},
    "webp": {"quality": 80, "method": 4},
    "jpeg": {"quality": 82, "progressive": True, "optimize": True},
}

FORMATS: Final = ("JPEG", "PNG", "WEBP", "HEIF", "AVIF")
# How a JPEG and a PNG begin, and what the first box of a HEIC or AVIF file says it is (ISO/IEC
# 23008-12, annex B; AV1 Image File Format 1.1).
STARTS: Final = (b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n")
HEIF_BRANDS: Final = frozenset({b"heic", b"heix", b"heim", b"heis", b"mif1", b"avif"})
# ITU-T H.273: the code points of Display P3's primaries and of sRGB's curve.
CODE_POINTS_P3: Final = (12, 13)
# Our choice: ten times the scans that libjpeg's own progressive script makes. Every scan goes over
# the whole picture, so that thousands of empty ones would hold a process for minutes.
MAX_SCANS: Final = 100
# Our choice: a phone's photo has some dozens, most of them parts of its metadata.
MAX_SEGMENTS: Final = 10_000
# ITU-T T.81, B.1.1: a marker, but for what stands inside a scan: a stuffed zero, or a restart.
JPEG_MARKER: Final = re.compile(rb"\xff([\x01-\xcf\xd8-\xfe])")
JPEG_END: Final = 0xD9
JPEG_SCAN: Final = 0xDA
JPEG_WITHOUT_LENGTH: Final = frozenset({0x01, 0xD8})
KINDS: Final = _("JPEG, PNG, WebP, HEIC or AVIF")
# A HEIC or a JPEG may hold further pictures, such as a depth map; its first is the photo.
MOVING_FORMATS: Final = frozenset({"PNG", "WEBP", "AVIF"})
ORIENTATIONS: Final = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}
# What Pillow and the libraries under it raise on files that are broken, by accident or on purpose.
BROKEN: Final = (
    *(OSError, SyntaxError, ValueError, EOFError, LookupError, TypeError, OverflowError),
    *(RuntimeError, MemoryError, struct.error, zlib.error),
)

_LINEAR_LEVELS: Final = srgb_to_linear(np.arange(256) / 255).astype(np.float32)
_SRGB: Final = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB"))
_STRIPE_ROWS: Final = 256
# One photo at a time in each process, so that a crowd's uploads take the memory of one.
_READING: Final = threading.Lock()


@dataclass(frozen=True, slots=True)
class Picture:
    """Upright sRGB pixels, encoded as WebP without any metadata."""

    width: int
    height: int
    webp: bytes
    is_profile_unreadable: bool = False
    """Whether the file's colour profile made no sense, so that sRGB was assumed."""

    def file(self) -> ContentFile[bytes]:
        return ContentFile(self.webp)


def read_photo(data: bytes) -> Picture:
    """Return the picture in an uploaded file; PhotoRefused with one sentence if there is none.

    Upright by its EXIF orientation, converted to sRGB by its embedded profile, and reduced in
    linear light until its long side has at most 1600 pixels.
    """
    with _READING:
        return _read(data)


def _read(data: bytes) -> Picture:
    # Pillow warns of metadata it cannot read, and none of it is kept anyway.
    with warnings.catch_warnings(action="ignore", category=UserWarning), _open(data) as image:
        _check_still(image)
        _check_size(*image.size, MAX_PIXELS_OF.get(image.format or "", MAX_PIXELS))
        _check_scans(image, data)
        turn = ORIENTATIONS.get(_orientation(image))
        profile = image.info.get("icc_profile")
        is_p3 = not profile and _code_points(image, data) == CODE_POINTS_P3
        pixels, is_unreadable = _to_srgb(_reduce(_decode(image)), profile)
    pixels = _from_p3(pixels) if is_p3 else pixels
    upright = pixels if turn is None else pixels.transpose(turn)
    return _encode(upright, is_profile_unreadable=is_unreadable)


def read_patch(file: IO[bytes], box: Box) -> Floats:
    """Return the linear-light sRGB pixels (rows, columns, 3) inside `box` of a stored photo."""
    with Image.open(file, formats=["WEBP"]) as image:
        width, height = image.size
        corners = (box.left * width, box.top * height, box.right * width, box.bottom * height)
        left, top, right, bottom = map(round, corners)
        levels = np.asarray(image.convert("RGB").crop((left, top, right, bottom)))
    return np.asarray(srgb_to_linear(np.arange(256) / 255)[levels])


def read_reduced(file: IO[bytes]) -> Floats:
    """Return a stored photo at half its width and height, averaged in linear light."""
    with Image.open(file, formats=["WEBP"]) as image:
        half = _mean_of_squares(np.asarray(image.convert("RGB")), 2)
    return np.asarray(_LINEAR_LEVELS[half])


def read_texture(
    file: IO[bytes], region: Box, size: int, *, lab: Lab | None = None
) -> NDArray[np.uint8]:
    """Return the middle of `region` of a stored photo as `size` by `size` sRGB levels (0..255).

    The largest upright square is taken and resized in linear light. With `lab` the square is lit
    so that its mean has that colour, as a yarn whose photo was balanced by white paper needs.
    """
    square = _middle_square(read_patch(file, region)).astype(np.float32)
    linear = np.clip(_resized(square, (size, size)), 0, None).astype(np.float64)
    if lab is not None:
        linear = relit(linear, lab)
    return to_levels(linear_to_srgb(linear))


def _middle_square(pixels: Floats) -> Floats:
    rows, columns = pixels.shape[:2]
    side = min(rows, columns)
    top, left = (rows - side) // 2, (columns - side) // 2
    return pixels[top : top + side, left : left + side]


def encode_png(levels: NDArray[np.uint8]) -> bytes:
    """Return sRGB levels as a PNG file without metadata."""
    buffer = BytesIO()
    Image.fromarray(levels).save(buffer, "PNG")
    return buffer.getvalue()


def encode_webp(levels: NDArray[np.uint8]) -> bytes:
    """Return sRGB levels as a WebP file without metadata, its colours kept as sharp as may be."""
    buffer = BytesIO()
    image = Image.fromarray(levels)
    image.save(buffer, "WEBP", quality=PICTURE_QUALITY, method=2, use_sharp_yuv=True)
    return buffer.getvalue()


def encode_copies(
    picture: Picture, widths: Sequence[int], forms: Sequence[str]
) -> Iterator[tuple[str, bytes]]:
    """Yield copies of these widths in these forms of `COPY_FORMATS`, named like "480.webp".

    They are reduced in linear light and never enlarged; a copy holds pixels and nothing else.
    """
    with Image.open(BytesIO(picture.webp), formats=["WEBP"]) as image:
        linear = _LINEAR_LEVELS[np.asarray(image.convert("RGB"))]
    for width in widths:
        small = Image.fromarray(to_levels(linear_to_srgb(_narrowed(linear, width))))
        for form in forms:
            buffer = BytesIO()
            small.save(buffer, form.upper(), **COPY_FORMATS[form])
            yield f"{width}.{form}", buffer.getvalue()


def _narrowed(linear: Floats, width: int) -> Floats:
    rows, columns = linear.shape[:2]
    if columns <= width:
        return linear
    resized = _resized(linear, (width, max(1, round(rows * width / columns))))
    return np.asarray(np.clip(resized, 0, 1))


def _resized(linear: NDArray[Any], size: tuple[int, int]) -> NDArray[Any]:
    """Return float32 pixels (rows, columns, 3) at another width and height, not clipped."""
    planes = [
        np.asarray(Image.fromarray(plane).resize(size, Image.Resampling.BICUBIC))
        for plane in np.moveaxis(linear, -1, 0)
    ]
    return np.stack(planes, axis=-1)


def _open(data: bytes) -> Image.Image:
    if not data:
        raise PhotoRefused(gettext("That file is empty; choose a photo."))
    if len(data) > MAX_BYTES:
        raise PhotoRefused(too_large(len(data)))
    try:
        return Image.open(BytesIO(data), formats=FORMATS)
    except BROKEN:
        # The decoders of WebP, HEIC and AVIF want the whole file before they say a word of it.
        if _begins_like_a_photo(data):
            raise PhotoRefused(_cut_short()) from None
        raise PhotoRefused(
            gettext("That file is not a photo this page can read; choose a {kinds} file.").format(
                kinds=KINDS
            )
        ) from None


def _begins_like_a_photo(data: bytes) -> bool:
    """Whether the first bytes are those of one of `FORMATS`."""
    if data[4:8] == b"ftyp":
        return data[8:12] in HEIF_BRANDS
    return data.startswith(STARTS) or (data[:4] == b"RIFF" and data[8:12] == b"WEBP")


def too_large(size: int) -> str:
    """Return the sentence that refuses a file of so many bytes."""
    return gettext(
        "That file has {size} MB and the limit is {max_bytes} MB; save a smaller "
        "copy and upload that."
    ).format(size=_over(size / MEGABYTE, MAX_BYTES // MEGABYTE), max_bytes=MAX_BYTES // MEGABYTE)


def _over(amount: float, limit: int) -> int:
    """Return a whole number for an amount over the limit, never the limit itself."""
    return max(round(amount), limit + 1)


def _check_still(image: Image.Image) -> None:
    try:
        frames = getattr(image, "n_frames", 1) if image.format in MOVING_FORMATS else 1
    except BROKEN:
        raise PhotoRefused(_cut_short()) from None
    if frames > 1:
        raise PhotoRefused(gettext("That picture moves; save one still of it and upload that."))


def _check_size(width: int, height: int, limit: int) -> None:
    if width * height > limit:
        raise PhotoRefused(
            gettext(
                "That photo has {width} by {height} pixels, {megapixels} megapixels, and the limit "
                "is {limit}; save a smaller copy and upload that."
            ).format(
                width=width,
                height=height,
                megapixels=_over(width * height / 1e6, limit // 1_000_000),
                limit=limit // 1_000_000,
            )
        )
    if min(width, height) // _factor(width, height) < MIN_SIDE:
        raise PhotoRefused(
            gettext(
                "That photo has {width} by {height} pixels, too few to pick a spot from; choose "
                "a larger photo."
            ).format(width=width, height=height)
        )


def _check_scans(image: Image.Image, data: bytes) -> None:
    if image.format in {"JPEG", "MPO"} and list(_jpeg_markers(data)).count(JPEG_SCAN) > MAX_SCANS:
        raise PhotoRefused(_cut_short())


def _jpeg_markers(data: bytes) -> Iterator[int]:
    """Yield the markers of a JPEG up to its end; what follows, such as a film, is none of it."""
    place = 0
    for _segment in range(MAX_SEGMENTS):
        found = JPEG_MARKER.search(data, place)
        if found is None or data[found.start(1)] == JPEG_END:
            return
        marker, place = data[found.start(1)], found.end()
        yield marker
        if marker not in JPEG_WITHOUT_LENGTH:
            place += int.from_bytes(data[place : place + 2])
    raise PhotoRefused(_cut_short())


def _factor(width: int, height: int) -> int:
    return -(-max(width, height) // LONG_SIDE)


def _orientation(image: Image.Image) -> int:
    try:
        return int(image.getexif().get(ExifTags.Base.Orientation, 1))
    except BROKEN:
        return 1


def _decode(image: Image.Image) -> Image.Image:
    """Return the pixels as CMYK with a profile, as grey (L), or as RGB on white."""
    try:
        # A JPEG can be decoded at a half or a quarter; twice the final size keeps the mean true.
        image.draft(None, (2 * LONG_SIDE, 2 * LONG_SIDE))
        image.load()
        return _plain(image)
    except BROKEN:
        raise PhotoRefused(_cut_short()) from None


def _cut_short() -> str:
    return gettext(
        "That photo is damaged or cut short; export or send it again and upload the new copy."
    )


def _plain(image: Image.Image) -> Image.Image:
    if image.mode == "CMYK" or image.mode == "L":
        return image
    if image.mode.startswith("I"):
        # Pillow would clip 16-bit grey at 255 rather than scale it.
        return Image.fromarray((np.asarray(image, dtype=np.uint32) >> 8).astype(np.uint8))
    if image.mode == "RGB" and "transparency" not in image.info:
        return image
    if image.mode == "LA":
        # Kept grey, for its profile is one of greys.
        grey, cover = image.split()
        return Image.composite(grey, Image.new("L", grey.size, "white"), cover)
    if image.has_transparency_data:
        # Pasted rather than composited: of 60 megapixels every copy takes 240 MB.
        layer = image if image.mode == "RGBA" else image.convert("RGBA")
        paper = Image.new("RGB", layer.size, "white")
        paper.paste(layer, mask=layer.getchannel("A"))
        return paper
    return image.convert("RGB")


def _reduce(image: Image.Image) -> Image.Image:
    """Return the image smaller by a whole factor, each pixel the linear-light mean of a square.

    A stripe at a time, so that a photo of 60 megapixels is not held as floats all at once. Only
    RGB is averaged so: its profile's curve is close to sRGB's, and Display P3's is the same.
    """
    factor = _factor(*image.size)
    if factor == 1:
        return image
    if image.mode != "RGB":
        return image.reduce(factor)
    width, height = image.width // factor, image.height // factor
    reduced = np.empty((height, width, 3), dtype=np.uint8)
    rows = max(1, _STRIPE_ROWS // factor)
    for top in range(0, height, rows):
        bottom = min(top + rows, height)
        stripe = image.crop((0, top * factor, width * factor, bottom * factor))
        reduced[top:bottom] = _mean_of_squares(np.asarray(stripe), factor)
    return Image.fromarray(reduced)


def _mean_of_squares(levels: NDArray[np.uint8], factor: int) -> NDArray[np.uint8]:
    rows, columns = levels.shape[0] // factor, levels.shape[1] // factor
    total = np.zeros((rows, columns, 3), dtype=np.float32)
    # One shifted copy after another: a mean over the axes of a reshaped array takes four times
    # as long (benchmarks/photo_measuring.py).
    for down in range(factor):
        for across in range(factor):
            shifted = levels[down : rows * factor : factor, across : columns * factor : factor]
            total += _LINEAR_LEVELS[shifted]
    return to_levels(linear_to_srgb(total / factor**2))


def to_levels(coded: Floats) -> NDArray[np.uint8]:
    """Return sRGB in 0..1 as levels 0..255."""
    return np.rint(np.clip(coded, 0, 1) * 255).astype(np.uint8)


def _code_points(image: Image.Image, data: bytes) -> tuple[int, ...] | None:
    """Return the primaries and the curve (ITU-T H.273) a file names, None if it names none.

    A PNG says them in cICP (W3C PNG, third edition), AVIF and HEIC in an nclx colour box
    (ISO/IEC 14496-12), of which Pillow tells those of HEIC alone.
    """
    if image.format == "PNG":
        _head, found, tail = data.partition(b"IDAT")[0].partition(b"cICP")
        return (tail[0], tail[1]) if found and len(tail) > 1 else None
    if image.format == "AVIF":
        tail = data.partition(b"colrnclx")[2]
        return struct.unpack(">HH", tail[:4]) if len(tail) > 3 else None
    tags = image.info.get("nclx_profile") or {}
    return tags.get("color_primaries", 0), tags.get("transfer_characteristics", 0)


def _from_p3(image: Image.Image) -> Image.Image:
    linear = _LINEAR_LEVELS[np.asarray(image)] @ P3_TO_LINEAR.T.astype(np.float32)
    return Image.fromarray(to_levels(linear_to_srgb(linear)))


def _to_srgb(image: Image.Image, profile: bytes | None) -> tuple[Image.Image, bool]:
    """Return the image as sRGB, and whether its profile had to be ignored."""
    if profile:
        try:
            source = ImageCms.ImageCmsProfile(BytesIO(profile))
            if image.mode == "L" and source.profile.xcolor_space.strip() == "RGB":
                image = image.convert("RGB")
            # Relative colorimetric keeps every colour both spaces have exactly as it is.
            converted = ImageCms.profileToProfile(
                image,
                source,
                _SRGB,
                renderingIntent=ImageCms.Intent.RELATIVE_COLORIMETRIC,
                outputMode="RGB",
            )
        except (ImageCms.PyCMSError, *BROKEN):
            converted = None
        if converted is not None:
            return converted, False
    if image.mode == "CMYK":
        raise PhotoRefused(
            gettext(
                "That picture is in printing inks (CMYK) without a profile that says "
                "which; save it as RGB or sRGB and upload that."
            )
        )
    return image.convert("RGB"), bool(profile)


def _encode(image: Image.Image, *, is_profile_unreadable: bool) -> Picture:
    # From bare numbers: an Image carries its file's profile and EXIF along into the next file.
    bare = Image.fromarray(np.array(image))
    buffer = BytesIO()
    bare.save(buffer, "WEBP", quality=WEBP_QUALITY, method=2)
    return Picture(bare.width, bare.height, buffer.getvalue(), is_profile_unreadable)
