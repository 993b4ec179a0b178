"""A view that chooses how an upload is received checks the form's token itself: each refuses."""

import re
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import get_resolver, reverse
from PIL import Image

from kal.models import Role
from palettes.models import Kit, KitPhoto, Photo
from schedule.models import Attachment, Post
from tests.builders import make_clue, make_kit, make_kit_maker, make_participant
from tests.photo_files import encoded
from tests.writing import typed

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("noon")]

TAKES_FILES: dict[str, Any] = {
    "palettes:photos": Photo,
    "palettes:kit_photos": KitPhoto,
    "schedule:new_post": Post,
    "schedule:edit_clue": Attachment,
}
# A mail program presses this one without a session; the token in the address is the permission.
BY_SIGNED_ADDRESS = {"schedule:unsubscribe"}


@pytest.fixture
def someone(knit_along):
    """Who may send files to all of these views: an organiser who also makes a kit."""
    return make_participant(knit_along, "Ines", Role.ORGANISER)


@pytest.fixture
def sent(knit_along, someone):
    """The address of each view and what would be taken there, but for the token."""
    make_clue(knit_along, 1)
    maker = make_kit_maker(knit_along, email=someone.user.email)
    kit = make_kit(knit_along, maker=maker, state=Kit.State.DRAFT)
    slug, photo = knit_along.slug, encoded(Image.new("RGB", (200, 150), (120, 120, 120)))

    def image():
        return SimpleUploadedFile("photo.png", photo, "image/png")

    clue = typed(note="With a chart.", new_file=image(), new_alt="A grey square")
    post = {"about": "1", "words": "Done.", "photo": image(), "alt": "A grey square"}
    of_kit = [slug, kit.pk]
    return {
        "palettes:photos": (reverse("palettes:photos", args=[slug]), {"photo": image()}),
        "palettes:kit_photos": (reverse("palettes:kit_photos", args=of_kit), {"photo": image()}),
        "schedule:new_post": (reverse("schedule:new_post", args=[slug]), post),
        "schedule:edit_clue": (reverse("schedule:edit_clue", args=[slug, 1]), clue),
    }


def exempt(resolver, namespace=""):
    """Yield the name of every address whose view the middleware's check passes over."""
    for pattern in resolver.url_patterns:
        if hasattr(pattern, "url_patterns"):
            inner = f"{namespace}{pattern.namespace}:" if pattern.namespace else namespace
            yield from exempt(pattern, inner)
        elif getattr(pattern.callback, "csrf_exempt", False):
            yield f"{namespace}{pattern.name}"


def test_no_other_view_is_spared_the_usual_check():
    assert set(exempt(get_resolver())) == TAKES_FILES.keys() | BY_SIGNED_ADDRESS


@pytest.mark.parametrize("name", sorted(TAKES_FILES))
def test_an_upload_from_another_site_is_refused(sent, someone, name):
    client = Client(enforce_csrf_checks=True)
    client.force_login(someone.user)
    address, data = sent[name]
    assert client.post(address, data).status_code == 403
    assert not TAKES_FILES[name].objects.exists()


@pytest.mark.parametrize("name", sorted(TAKES_FILES))
def test_the_same_upload_with_the_forms_token_is_taken(sent, someone, name):
    """Else the refusal may be for another reason."""
    client = Client(enforce_csrf_checks=True)
    client.force_login(someone.user)
    address, data = sent[name]
    page = client.get(address).content.decode()
    [token, *_others] = re.findall(r'name="csrfmiddlewaretoken" value="(\w+)"', page)
    assert client.post(address, data | {"csrfmiddlewaretoken": token}).status_code == 302
    assert TAKES_FILES[name].objects.count() == 1
