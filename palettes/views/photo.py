"""A participant's own photos: uploading, picking a spot, and putting its colour on a yarn."""

from django.contrib import messages
from django.http import HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.csrf import csrf_exempt, csrf_protect
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from kal.http import MemberRequest, UserRequest, member_required, wants_fragment
from kal.private_files import PrivateFile, hand_out
from palettes import actions
from palettes.errors import PaletteError
from palettes.forms import PhotoForm, SpotForm, UseSpotForm
from palettes.measuring import TEXTURE_SIDE, texture_of
from palettes.models import Photo, Yarn
from palettes.models.yarn_facts import MeasuredBy
from palettes.photos import encode_png, read_photo
from palettes.spots import Spot, read_spot
from palettes.uploads import PhotoUploadHandler
from palettes.views.answers import UNPROCESSABLE, own_yarns

PROFILE_NOTE = "The photo's colour profile could not be read, so its colours were taken as sRGB."


@csrf_exempt
def photos(request: UserRequest, slug: str) -> HttpResponseBase:
    """Choose how the upload is received before anything reads it; the check of the token is one
    of those things, so it comes after, on `_photos`."""
    request.upload_handlers = [PhotoUploadHandler(request)]
    return _photos(request, slug)


@csrf_protect
@member_required()
@require_http_methods(["GET", "HEAD", "POST"])
def _photos(request: MemberRequest) -> HttpResponse:
    form = PhotoForm()
    if request.method == "POST":
        form = PhotoForm(request.POST, request.FILES)
        if photo := _receive(request, form):
            return redirect("palettes:photo", request.knit_along.slug, photo.pk)
    context = {
        "form": form,
        "photos": request.participant.photos.all(),
        "is_open": request.knit_along.are_palettes_open(timezone.now()),
        **_frame(request),
    }
    status = UNPROCESSABLE if form.errors else None
    return render(request, "palettes/photos.html", context, status=status)


def _receive(request: MemberRequest, form: PhotoForm) -> Photo | None:
    if not form.is_valid():
        return None
    try:
        picture = read_photo(form.cleaned_data["photo"])
        photo = actions.add_photo(request.participant, picture, now=timezone.now())
    except PaletteError as error:
        form.add_error("photo", str(error))
        return None
    if picture.is_profile_unreadable:
        messages.warning(request, PROFILE_NOTE)
    return photo


@member_required()
@require_GET
def photo_page(request: MemberRequest, pk: int) -> HttpResponse:
    photo = _own_photo(request, pk)
    form = SpotForm(_spot_data(request, photo))
    spot = _spot(photo, form)
    return _show_photo(request, photo, form, spot)


@member_required()
@require_GET
def photo_image(request: MemberRequest, pk: int) -> HttpResponseBase:
    stored = str(_own_photo(request, pk).image.name)
    tag = stored.rpartition("/")[2].partition(".")[0]  # random, and never given to another photo
    response = hand_out(request, PrivateFile(stored, "photo.webp", "image/webp", tag))
    response.headers["Cache-Control"] = "private, max-age=3600"
    return response


@member_required()
@require_GET
def yarn_texture(request: MemberRequest, pk: int) -> HttpResponse:
    """Return a small square of the yarn itself, as its photo shows it: for its owner alone."""
    pictured = own_yarns(request).filter(photo__isnull=False, region__isnull=False)
    yarn = get_object_or_404(pictured.select_related("photo"), pk=pk)
    levels = texture_of(yarn, TEXTURE_SIDE)
    response = HttpResponse(encode_png(levels), content_type="image/png")
    response["Cache-Control"] = "private, no-cache"
    return response


@member_required()
@require_POST
def use_spot(request: MemberRequest, pk: int) -> HttpResponse:
    photo = _own_photo(request, pk)
    form = UseSpotForm(request.POST, yarns=own_yarns(request))
    # Somebody else's yarn, or none that exists, is not a slip of the hand.
    if request.POST.get("yarn"):
        get_object_or_404(own_yarns(request), pk=_number(request.POST["yarn"]))
    form.is_valid()
    spot = _spot(photo, form)
    if not form.is_valid() or spot is None:
        return _show_photo(request, photo, SpotForm(request.POST), spot, use_form=form)
    try:
        yarn = _colour_yarn(request, photo, spot, form)
    except PaletteError as error:
        form.add_error(None, str(error))
        return _show_photo(request, photo, SpotForm(request.POST), spot, use_form=form)
    messages.success(request, f"{yarn.name} has its colour: {yarn.colour_words}.")
    return redirect("palettes:photo", request.knit_along.slug, photo.pk)


@member_required()
@require_POST
def remove_photo(request: MemberRequest, pk: int) -> HttpResponse:
    actions.remove_photo(_own_photo(request, pk))
    messages.success(request, "The photo is removed; colours picked from it stay.")
    return redirect("palettes:photos", request.knit_along.slug)


def _own_photo(request: MemberRequest, pk: int) -> Photo:
    return get_object_or_404(request.participant.photos.all(), pk=pk)


def _spot_data(request: MemberRequest, photo: Photo) -> dict[str, str] | None:
    """Return the spot asked for, in per cent; None when none is.

    Without script the photo itself is the button, and a browser sends where it was clicked in
    pixels of the size it is shown at.
    """
    asked = request.GET
    if "spot.x" in asked and "spot.y" in asked:
        clicked = (asked["spot.x"], photo.shown_width), (asked["spot.y"], photo.shown_height)
        x, y = (_per_cent(value, size) for value, size in clicked)
        return {"x": x, "y": y, "radius": asked.get("radius", "")}
    return asked.dict() if "x" in asked else None


def _per_cent(pixels: str, size: int) -> str:
    # A click between two pixels belongs to the middle of the one it is in.
    return f"{(int(pixels) + 0.5) * 100 / size:.2f}" if pixels.isdecimal() else pixels


def _spot(photo: Photo, form: SpotForm) -> Spot | None:
    """Return the spot a form asks for, however the rest of the form turned out."""
    if not form.is_bound or form.errors.keys() & {"x", "y", "radius"}:
        return None
    asked = form.cleaned_data
    return read_spot(photo, asked["x"] / 100, asked["y"] / 100, asked["radius"])


def _show_photo(
    request: MemberRequest,
    photo: Photo,
    form: SpotForm,
    spot: Spot | None,
    *,
    use_form: UseSpotForm | None = None,
) -> HttpResponse:
    found = _measured(Yarn(), photo, spot) if spot else None
    refused = bool(form.errors or (use_form and use_form.errors))
    context = {
        "photo": photo,
        "form": form,
        "spot": spot,
        "found": found,
        "use_form": use_form or UseSpotForm(initial=form.data, yarns=own_yarns(request)),
        "is_open": request.knit_along.are_palettes_open(timezone.now()),
        "is_part": wants_fragment(request),
        **_frame(request),
    }
    template = "palettes/photo.html"
    if wants_fragment(request):
        template += "#found"
    return render(request, template, context, status=UNPROCESSABLE if refused else None)


def _colour_yarn(request: MemberRequest, photo: Photo, spot: Spot, form: UseSpotForm) -> Yarn:
    now = timezone.now()
    yarn: Yarn | None = form.cleaned_data["yarn"]
    if yarn is None:
        new = Yarn(name=form.cleaned_data["name"], dye_style=spot.measurement.dye_style)
        return actions.add_yarn(_measured(new, photo, spot), request.participant, now=now)
    actions.change_yarn(_measured(yarn, photo, spot), MEASURED_FIELDS, now=now)
    return yarn


MEASURED_FIELDS = ("lab_l", "lab_a", "lab_b", "spread", "measured_by", "photo", "region")


def _measured(yarn: Yarn, photo: Photo, spot: Spot) -> Yarn:
    yarn.lab, yarn.spread = spot.measurement.lab, spot.measurement.spread
    yarn.measured_by, yarn.photo, yarn.region = MeasuredBy.PHOTO, photo, spot.box
    return yarn


def _number(text: str) -> int:
    return int(text) if text.isdecimal() else 0


def _frame(request: MemberRequest) -> dict[str, object]:
    return {
        "participant": request.participant,
        "knit_along": request.knit_along,
        "section": "palette",
    }
