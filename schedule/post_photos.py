"""Photos of posts: storing copies of several widths and kinds, and how a page offers them.

A photo is a folder with a random name in private storage; a small photo is not enlarged.
"""

import secrets
from dataclasses import dataclass

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.urls import reverse

from palettes.photos import Picture, encode_copies
from schedule.models import Post
from schedule.models.post import PHOTO_FORMS, PHOTO_WIDTHS, path_of

SMALL, LARGE = PHOTO_WIDTHS
*MODERN, FALLBACK = PHOTO_FORMS


@dataclass(frozen=True)
class ShownPhoto:
    """A photo as a page shows it; `sources` are type and srcset, the smallest kind first."""

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
    for copy, content in encode_copies(picture, PHOTO_WIDTHS, PHOTO_FORMS):
        default_storage.save(path_of(folder, copy), ContentFile(content))
    return folder


def shown_photo(post: Post, slug: str) -> ShownPhoto:
    """Return the photo of a post that has one; whether it may be shown was asked before."""
    assert post.width
    assert post.height

    def url(width: int, form: str) -> str:
        return reverse("schedule:post_photo", args=[slug, post.key, f"{width}.{form}"])

    def srcset(form: str) -> str:
        return ", ".join(f"{url(wide, form)} {min(wide, post.width or 0)}w" for wide in widths)

    widths = PHOTO_WIDTHS if post.width > SMALL else (SMALL,)
    width = min(SMALL, post.width)
    return ShownPhoto(
        alt=post.alt,
        width=width,
        height=max(1, round(width * post.height / post.width)),
        src=url(SMALL, FALLBACK),
        large=url(LARGE, FALLBACK),
        srcset=srcset(FALLBACK),
        sources=tuple((f"image/{form}", srcset(form)) for form in MODERN),
    )
