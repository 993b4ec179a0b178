"""What a participant marks in a photo of their own."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from kal.http import MemberRequest, frame, member_required
from palettes.models import Photo
from palettes.views import bench
from palettes.views.answers import own_yarns
from palettes.views.bench import Bench, Verb, addresses, keep_and


def own_photo(request: MemberRequest, pk: int) -> Photo:
    return get_object_or_404(request.participant.photos.all(), pk=pk)


def own_bench(request: MemberRequest, pk: int) -> Bench:
    slug = request.knit_along.slug
    return Bench(
        photo=own_photo(request, pk),
        yarns=own_yarns(request),
        knit_along=request.knit_along,
        is_open=request.knit_along.are_palettes_open(timezone.now()),
        at=addresses(),
        frame=frame(
            request,
            "palette",
            photos_url=reverse("palettes:photos", args=[slug]),
            yarns_url=reverse("palettes:palette", args=[slug]),
        ),
    )


def _view(verb: Verb) -> Callable[[HttpRequest, str, int], HttpResponseBase]:
    @member_required()
    @require_POST
    def view(request: MemberRequest, pk: int) -> HttpResponse:
        return keep_and(request, own_bench(request, pk), verb)

    return view


keep_marks = _view(bench.keep)
add_mark = _view(bench.add)
remove_mark = _view(bench.remove)
find_marks = _view(bench.find)
apply_marks = _view(bench.apply)
