"""Files of photos as cameras and hostile hands make them, byte by byte where needed."""

import io
import struct
import zlib

import numpy as np
from PIL import Image

from palettes.colour.spaces import D50_XY, D65_WHITE, adapt, linear_to_srgb, white_xyz


def encoded(image, kind="PNG", **options):
    buffer = io.BytesIO()
    image.save(buffer, kind, **options)
    return buffer.getvalue()


def from_linear(scene, kind="PNG", **options):
    """Return the encoded file of a linear-light sRGB scene (rows, columns, 3)."""
    levels = np.rint(linear_to_srgb(np.clip(scene, 0, 1)) * 255).astype(np.uint8)
    return encoded(Image.fromarray(levels), kind, **options)


def s15(value):
    return struct.pack(">i", round(value * 65536))


def display_p3_profile():
    """Return a Display P3 ICC profile written from its published numbers.

    Primaries of SMPTE RP 431-2, the white D65 and the sRGB curve, by Bradford to the D50 of
    ICC.1:2010; the curve is parametric type 3 with the constants of IEC 61966-2-1.
    """
    primaries = np.stack([white_xyz(xy) for xy in ((0.680, 0.320), (0.265, 0.690), (0.150, 0.060))])
    scale = np.linalg.solve(primaries.T, D65_WHITE)
    columns = adapt(primaries * scale[:, None], D65_WHITE, white_xyz(D50_XY))

    def xyz(values):
        return b"XYZ \0\0\0\0" + b"".join(map(s15, values))

    curve = (
        b"para\0\0\0\0"
        + struct.pack(">HH", 3, 0)
        + b"".join(map(s15, (2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045)))
    )

    def text(words):
        coded = words.encode("utf-16-be")
        return (
            b"mluc\0\0\0\0" + struct.pack(">II2s2sII", 1, 12, b"en", b"US", len(coded), 28) + coded
        )

    return _profile(
        b"RGB ",
        {
            b"desc": text("P3"),
            b"cprt": text("None"),
            b"wtpt": xyz(white_xyz(D50_XY)),
            **{
                name: xyz(column)
                for name, column in zip((b"rXYZ", b"gXYZ", b"bXYZ"), columns, strict=True)
            },
            **dict.fromkeys((b"rTRC", b"gTRC", b"bTRC"), curve),
        },
    )


def grey_profile(gamma):
    """Return an ICC profile of greys whose codes are light to the power of 1 / gamma."""
    curve = b"curv\0\0\0\0" + struct.pack(">IH", 1, round(gamma * 256))
    white = b"XYZ \0\0\0\0" + b"".join(map(s15, white_xyz(D50_XY)))
    return _profile(b"GRAY", {b"wtpt": white, b"kTRC": curve})


def _profile(space, tags):
    """Return an ICC.1:2010 display profile of these tags, its colours led back to XYZ."""
    table, body, start = b"", b"", 128 + 4 + 12 * len(tags)
    for name, data in tags.items():
        data += b"\0" * (-len(data) % 4)
        table += name + struct.pack(">II", start + len(body), len(data))
        body += data
    header = struct.pack(
        ">I4sI4s4s4s12s4s4sIII8sI12s48s",
        start + len(body),
        b"none",
        0x04200000,
        b"mntr",
        space,
        b"XYZ ",
        b"\x07\xea\0\1\0\1\0\0\0\0\0\0",
        b"acsp",
        b"APPL",
        0,
        0,
        0,
        b"\0" * 8,
        0,
        b"".join(map(s15, white_xyz(D50_XY))),
        b"\0" * 48,
    )
    return header[:128] + struct.pack(">I", len(tags)) + table + body


def chunk(name, data):
    """Return one chunk of a PNG with its right checksum."""
    return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))


def png_with(name, data, image=None):
    """Return a whole PNG with one chunk more, right after its header."""
    whole = encoded(image or Image.new("RGB", (200, 150), (120, 80, 60)))
    return whole[:33] + chunk(name, data) + whole[33:]


def png_header(width, height, depth=8, kind=2):
    """Return a PNG that promises so many pixels and holds none."""

    header = struct.pack(">IIBBBBB", width, height, depth, kind, 0, 0, 0)
    data = zlib.compress(b"\0" * 100)
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", data) + chunk(b"IEND", b"")
    )
