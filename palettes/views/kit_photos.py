"""A kit maker's own photos of a kit's yarns: the measuring that participants have, on a kit.

Nobody else sees them, the organiser neither: what goes to others are the colours on the kit.
"""

from collections.abc import Callable
from functools import partial

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from palettes import actions, marking
from palettes.forms import PhotoForm
from palettes.kit_access import MakerRequest, maker_required
from palettes.measuring import view_of
from palettes.models import KitPhoto
from palettes.uploads import receives_photo
from palettes.views import bench
from palettes.views.answers import UNPROCESSABLE
from palettes.views.bench import Bench, Verb, addresses, keep_and, show_board
from palettes.views.kit_making import maker_frame, own_kit_of
from palettes.views.photo import PRIVATE, hand_out_photo, picture_answer, receive

AT = addresses("kit_")


@receives_photo
@maker_required
@require_http_methods(["GET", "HEAD", "POST"])
def kit_photos(request: MakerRequest, pk: int) -> HttpResponse:
    kit, form = own_kit_of(request, pk), PhotoForm()
    if request.method == "POST":
        form = PhotoForm(request.POST, request.FILES)
        store = partial(marking.add_marked_kit_photo, kit)
        if photo := receive(request, form, store):
            return redirect(AT["photo"], request.maker.knit_along.slug, photo.pk)
    context = {
        "form": form,
        "photos": kit.photos.all(),
        "at": AT,
        "kit": kit,
        "is_open": kit.may_change,
        **maker_frame(request),
    }
    status = UNPROCESSABLE if form.errors else None
    return render(request, "palettes/photos.html", context, status=status)


def _own_photo(request: MakerRequest, pk: int) -> KitPhoto:
    own = KitPhoto.objects.filter(kit__maker=request.maker)
    return get_object_or_404(own.select_related("kit__maker__knit_along"), pk=pk)


def _own_bench(request: MakerRequest, pk: int) -> Bench:
    photo, slug = _own_photo(request, pk), request.maker.knit_along.slug
    return Bench(
        photo=photo,
        yarns=photo.kit.yarns.all(),
        knit_along=request.maker.knit_along,
        is_open=photo.kit.may_change,
        at=AT,
        frame={
            **maker_frame(request),
            "kit": photo.kit,
            "photos_url": reverse("palettes:kit_photos", args=[slug, photo.kit_id]),
            "yarns_url": reverse("palettes:own_kit", args=[slug, photo.kit_id]),
        },
    )


@maker_required
@require_safe
def kit_photo(request: MakerRequest, pk: int) -> HttpResponse:
    return show_board(request, _own_bench(request, pk))


@maker_required
@require_safe
def kit_photo_image(request: MakerRequest, pk: int) -> HttpResponseBase:
    return hand_out_photo(request, _own_photo(request, pk))


@maker_required
@require_safe
def kit_photo_daylight(request: MakerRequest, pk: int) -> HttpResponse:
    return picture_answer(view_of(_own_photo(request, pk), grey=False), "image/webp", PRIVATE)


@maker_required
@require_safe
def kit_photo_grey(request: MakerRequest, pk: int) -> HttpResponse:
    return picture_answer(view_of(_own_photo(request, pk), grey=True), "image/webp", PRIVATE)


@maker_required
@require_POST
def kit_remove_photo(request: MakerRequest, pk: int) -> HttpResponse:
    photo = _own_photo(request, pk)
    actions.remove_photo(photo)
    messages.success(request, _("The photo is removed; colours measured in it stay."))
    return redirect("palettes:kit_photos", request.maker.knit_along.slug, photo.kit_id)


def _view(verb: Verb) -> Callable[[HttpRequest, str, int], HttpResponseBase]:
    @maker_required
    @require_POST
    def view(request: MakerRequest, pk: int) -> HttpResponse:
        return keep_and(request, _own_bench(request, pk), verb)

    return view


kit_keep_marks = _view(bench.keep)
kit_add_mark = _view(bench.add)
kit_remove_mark = _view(bench.remove)
kit_find_marks = _view(bench.find)
kit_apply_marks = _view(bench.apply)
