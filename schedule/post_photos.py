"""Photos of posts in private storage: each a folder with a random name, holding copies by width.

A copy is named like "480.webp" for the width it was made for; a smaller photo is not enlarged.
"""

import secrets
from dataclasses import dataclass
from typing import Final

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.urls import reverse

from palettes.photos import COPY_FORMATS, Picture, encode_copies
from schedule.models import Post

FOLDER: Final = "posts"
# CSS pixels. Our choice: a column on a phone, and twice one for a sharp screen.
WIDTHS: Final = (480, 1000)
COPIES: Final = {f"{width}.{form}": f"image/{form}" for width in WIDTHS for form in COPY_FORMATS}
FALLBACK: Final = "jpeg"


@dataclass(frozen=True)
class ShownPhoto:
    """A photo as a page shows it: `sources` are type and srcset, the smallest kind first."""

    alt: str
    width: int
    height: int
    src: str
    large: str
    srcset: str
    sources: tuple[tuple[str, str], ...]


def store_copies(picture: Picture) -> str:
    """Store all copies of a picture and return the name of their folder."""
    folder = secrets.token_hex(16)
    for name, content in encode_copies(picture, WIDTHS):
        default_storage.save(path_of(folder, name), ContentFile(content))
    return folder


def drop_copies(folder: str) -> None:
    for name in COPIES:
        default_storage.delete(path_of(folder, name))


def path_of(folder: str, copy: str) -> str:
    return f"{FOLDER}/{folder}/{copy}"


def shown_photo(post: Post, slug: str) -> ShownPhoto:
    """Return the photo of a post that has one; whether it may be shown was asked before."""
    assert post.width
    assert post.height
    width = min(WIDTHS[0], post.width)
    sets = {
        form: ", ".join(
            f"{_url(post, slug, f'{wide}.{form}')} {min(wide, post.width)}w" for wide in WIDTHS
        )
        for form in COPY_FORMATS
    }
    return ShownPhoto(
        alt=post.alt,
        width=width,
        height=max(1, round(width * post.height / post.width)),
        src=_url(post, slug, f"{WIDTHS[0]}.{FALLBACK}"),
        large=_url(post, slug, f"{WIDTHS[-1]}.{FALLBACK}"),
        srcset=sets[FALLBACK],
        sources=tuple((f"image/{form}", sets[form]) for form in sets if form != FALLBACK),
    )


def _url(post: Post, slug: str, copy: str) -> str:
    return reverse("schedule:post_photo", args=[slug, post.key, copy])
