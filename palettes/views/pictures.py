"""Pictures of a participant's own yarns knitted together: the page, and each picture's file."""

from django.http import Http404, HttpResponse, QueryDict
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET
from django.views.decorators.vary import vary_on_headers

from kal.http import MemberRequest, frame, member_required, wants_fragment
from palettes.audits import fabric_of
from palettes.colour.sight import Sight
from palettes.colour.textures import Texture, yarns_needed
from palettes.lettering import letters_of
from palettes.models import Yarn
from palettes.models.named_yarn import name_yarns
from palettes.picture_form import PictureForm
from palettes.picture_page import pair_links, show_pictures
from palettes.pictures import HEIGHT, WIDTH, Shown, picture_file, strand_of
from palettes.views.answers import UNPROCESSABLE, own_yarns, send_picture, sent_keys


@member_required()
@vary_on_headers("HX-Request")
@require_GET
def pictures_page(request: MemberRequest) -> HttpResponse:
    yarns = Yarn.in_order(own_yarns(request).select_related("photo"))
    chosen = [yarn for yarn in yarns if yarn.is_chosen]
    name_yarns(yarns)
    form = PictureForm(_asked(request, yarns), yarns=yarns)
    context = {
        **frame(request, "palette"),
        "form": form,
        "yarns": yarns,
        "width": WIDTH,
        "height": HEIGHT,
    }
    if len(yarns) > 1 and form.is_valid():
        asked = form.cleaned_data
        by_key = {yarn.pk: yarn for yarn in yarns}
        picked = [by_key[asked[name]] for name in ("first", "second", "third") if asked[name]]
        sight = Sight(asked["sight"])
        context["sight"] = sight
        imperial = request.user.reads_imperial
        context["pictures"] = show_pictures(
            picked, chosen, request.knit_along, sight, imperial=imperial
        )
        context["links"] = pair_links(
            chosen,
            request.knit_along,
            letters_of(request.participant, chosen, now=timezone.now()),
        )
    template = "palettes/pictures.html"
    if wants_fragment(request):
        template += "#pictures"
    refused = len(yarns) > 1 and form.errors
    return render(request, template, context, status=UNPROCESSABLE if refused else None)


@member_required()
@require_GET
def picture(request: MemberRequest) -> HttpResponse:
    shown = _shown(request)
    return send_picture(request, picture_file(shown), "image/webp", shown.version)


def _asked(request: MemberRequest, yarns: list[Yarn]) -> QueryDict:
    """Return the question; where none was put, about the first three yarns in colour."""
    asked = request.GET.copy()
    if not {"first", "second"} & asked.keys():
        for name, yarn in zip(("first", "second", "third"), yarns, strict=False):
            asked[name] = str(yarn.pk)
    asked.setdefault("sight", Sight.COLOUR.value)
    return asked


def _shown(request: MemberRequest) -> Shown:
    """Return what is asked for; 404 for yarns of others, and for what there is no picture of."""
    try:
        texture = Texture(request.GET.get("texture", ""))
        sight = Sight(request.GET.get("sight", ""))
        keys = sent_keys(request.GET, "yarn")
        by_key = own_yarns(request).select_related("photo").in_bulk(keys)
        yarns = [by_key[key] for key in keys]
    except (ValueError, KeyError):
        raise Http404 from None
    if len(yarns) != yarns_needed(texture):
        raise Http404
    strands = tuple(strand_of(yarn) for yarn in yarns)
    return Shown(texture, strands, fabric_of(request.knit_along), sight)
