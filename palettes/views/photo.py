"""A participant's own photos: uploading them, and the pictures made of them for their owner."""

from collections.abc import Callable
from functools import partial

from django.contrib import messages
from django.http import HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from kal.http import MemberRequest, UserRequest, frame, member_required
from kal.private_files import PrivateFile, hand_out
from palettes import actions, marking
from palettes.errors import PaletteError
from palettes.forms import PhotoForm
from palettes.measuring import TEXTURE_SIDE, texture_of, view_of
from palettes.models import AnyPhoto, KitPhoto, Photo
from palettes.photos import Picture, encode_png, read_photo
from palettes.uploads import receives_photo
from palettes.views.answers import UNPROCESSABLE, own_yarns
from palettes.views.bench import addresses, show_board
from palettes.views.marks import own_bench, own_photo

PROFILE_NOTE = _("The photo's colour profile could not be read, so its colours were taken as sRGB.")
PRIVATE = "private, max-age=3600"


@receives_photo
@member_required()
@require_http_methods(["GET", "HEAD", "POST"])
def photos(request: MemberRequest) -> HttpResponse:
    form = PhotoForm()
    if request.method == "POST":
        form = PhotoForm(request.POST, request.FILES)
        now = timezone.now()
        store = partial(marking.add_marked_photo, request.participant, now=now)
        if photo := receive(request, form, store):
            return redirect("palettes:photo", request.knit_along.slug, photo.pk)
    context = {
        "form": form,
        "photos": request.participant.photos.all(),
        "at": addresses(),
        "is_open": request.knit_along.are_palettes_open(timezone.now()),
        **frame(request, "palette"),
    }
    status = UNPROCESSABLE if form.errors else None
    return render(request, "palettes/photos.html", context, status=status)


def receive[P: (Photo, KitPhoto)](
    request: UserRequest, form: PhotoForm, store: Callable[[Picture], P]
) -> P | None:
    """Store an upload and return the photo; None with the reason on the form."""
    if not form.is_valid():
        return None
    try:
        picture = read_photo(form.cleaned_data["photo"])
        photo = store(picture)
    except PaletteError as error:
        form.add_error("photo", str(error))
        return None
    if picture.is_profile_unreadable:
        messages.warning(request, PROFILE_NOTE)
    return photo


@member_required()
@require_GET
def photo_page(request: MemberRequest, pk: int) -> HttpResponse:
    return show_board(request, own_bench(request, pk))


@member_required()
@require_GET
def photo_image(request: MemberRequest, pk: int) -> HttpResponseBase:
    return hand_out_photo(request, own_photo(request, pk))


def hand_out_photo(request: UserRequest, photo: AnyPhoto) -> HttpResponseBase:
    stored = str(photo.image.name)
    tag = stored.rpartition("/")[2].partition(".")[0]  # random, and never given to another photo
    response = hand_out(request, PrivateFile(stored, "photo.webp", "image/webp", tag))
    response.headers["Cache-Control"] = PRIVATE
    return response


@member_required()
@require_GET
def photo_daylight(request: MemberRequest, pk: int) -> HttpResponse:
    return picture_answer(view_of(own_photo(request, pk), grey=False), "image/webp", PRIVATE)


@member_required()
@require_GET
def photo_grey(request: MemberRequest, pk: int) -> HttpResponse:
    return picture_answer(view_of(own_photo(request, pk), grey=True), "image/webp", PRIVATE)


@member_required()
@require_GET
def yarn_texture(request: MemberRequest, pk: int) -> HttpResponse:
    """Return a small square of the yarn itself, as its photo shows it: for its owner alone."""
    pictured = own_yarns(request).filter(photo__isnull=False, region__isnull=False)
    yarn = get_object_or_404(pictured.select_related("photo"), pk=pk)
    png = encode_png(texture_of(yarn, TEXTURE_SIDE))
    return picture_answer(png, "image/png", "private, no-cache")


@member_required()
@require_POST
def remove_photo(request: MemberRequest, pk: int) -> HttpResponse:
    actions.remove_photo(own_photo(request, pk))
    messages.success(request, gettext("The photo is removed; colours measured in it stay."))
    return redirect("palettes:photos", request.knit_along.slug)


def picture_answer(data: bytes, content_type: str, cache: str) -> HttpResponse:
    response = HttpResponse(data, content_type=content_type)
    response["Cache-Control"] = cache
    return response
