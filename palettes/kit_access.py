"""Who may put kits together: the standing invitation of whoever asks, or a 404."""

from collections.abc import Callable
from functools import wraps
from typing import Concatenate

from django.http import Http404, HttpRequest, HttpResponseBase

from kal.http import SAFE, UserRequest, refuse_archived, sign_in_required
from palettes.models import KitMaker


class MakerRequest(UserRequest):
    """A request by an invited shop or dyer about one knit-along."""

    maker: KitMaker


def maker_required[**P](
    view: Callable[Concatenate[MakerRequest, P], HttpResponseBase],
) -> Callable[Concatenate[HttpRequest, str, P], HttpResponseBase]:
    """Admit those invited to propose kits for the knit-along named by the URL; others get 404."""

    @sign_in_required
    @wraps(view)
    def checked(
        request: MakerRequest, slug: str, *args: P.args, **kwargs: P.kwargs
    ) -> HttpResponseBase:
        invited = KitMaker.objects.invited(request.user, slug)
        maker = invited.select_related("knit_along").first()
        if maker is None:
            raise Http404
        request.maker = maker
        if maker.knit_along.archived_at and request.method not in SAFE:
            return refuse_archived(request, maker.knit_along)
        return view(request, *args, **kwargs)

    return checked  # type: ignore[return-value]
