"""Request types and the checks that stand before a view: who asks, and in which knit-along.

A page of a knit-along that the reader may not know of answers 404, the same as one that
does not exist.
"""

from collections.abc import Callable, Collection
from functools import wraps
from typing import Concatenate

from django.contrib.auth.views import redirect_to_login
from django.db.models import QuerySet
from django.forms import BaseForm
from django.http import (
    Http404,
    HttpRequest,
    HttpResponse,
    HttpResponseBase,
    HttpResponseForbidden,
    QueryDict,
)
from django.shortcuts import get_object_or_404, render
from django_htmx.middleware import HtmxDetails

from kal.models import KnitAlong, Participant, Role, User
from kal.prepared import Prepared
from kal.unsent import NEEDS_SIGN_IN, hand_back, sent_fields


class SiteRequest(HttpRequest):
    """Any request, with what the middleware adds."""

    htmx: HtmxDetails


class UserRequest(SiteRequest):
    """A request by somebody who has signed in."""

    user: User


class MemberRequest(UserRequest):
    """A request by a participant, in whichever role, about one knit-along."""

    participant: Participant
    knit_along: KnitAlong


def _membership(user: int, slug: str) -> QuerySet[Participant]:
    members = Participant.objects.active().select_related("knit_along")
    return members.filter(user=user, knit_along__slug=slug)


_MEMBERSHIP = Prepared(_membership, int, str)

SAFE = {"GET", "HEAD", "OPTIONS"}  # RFC 9110, 9.2.1

type View[**P] = Callable[P, HttpResponseBase]


def posted(request: HttpRequest) -> QueryDict | None:
    """Return what was posted, be it empty, for a form to bind to; None for a page just opened."""
    return request.POST if request.method == "POST" else None


def wants_fragment(request: SiteRequest) -> bool:
    """Return whether htmx asks for a part of the page rather than the whole."""
    return bool(request.htmx) and not request.htmx.history_restore_request


def sign_in_required[V: Callable[..., HttpResponseBase]](view: V) -> V:
    """Admit whoever has signed in. Others are asked to, and get back what they sent.

    A part of a page is refused instead: static/js/refused.js then asks for the whole.
    """

    @wraps(view)
    def checked(request: SiteRequest, *args: object, **kwargs: object) -> HttpResponseBase:
        if request.user.is_authenticated:
            return view(request, *args, **kwargs)
        if wants_fragment(request):
            return HttpResponseForbidden()
        if sent_fields(request):
            return hand_back(request)
        return redirect_to_login(request.get_full_path())

    setattr(checked, NEEDS_SIGN_IN, True)
    return checked  # type: ignore[return-value]


def member_required[**P](
    *, roles: Collection[str] = tuple(Role), even_archived: bool = False
) -> Callable[
    [Callable[Concatenate[MemberRequest, P], HttpResponseBase]],
    Callable[Concatenate[HttpRequest, str, P], HttpResponseBase],
]:
    """Admit the active participants of the knit-along named by the URL who hold one of `roles`.

    The view gets the request with `participant` and `knit_along` on it, and the URL's other
    arguments without the slug. Anyone else gets 404; a visitor is asked to sign in. What would
    change an archived knit-along is refused, but for a view that is for that, `even_archived`.
    """

    def decorate(
        view: Callable[Concatenate[MemberRequest, P], HttpResponseBase],
    ) -> Callable[Concatenate[HttpRequest, str, P], HttpResponseBase]:
        @sign_in_required
        @wraps(view)
        def checked(
            request: MemberRequest, slug: str, *args: P.args, **kwargs: P.kwargs
        ) -> HttpResponseBase:
            found = _MEMBERSHIP.rows(request.user.pk, slug)
            if not found:
                raise Http404
            request.participant = found[0]
            request.participant.user = request.user  # read already, to know who asks
            if request.participant.role not in roles:
                raise Http404
            request.knit_along = request.participant.knit_along
            if request.knit_along.archived_at and request.method not in SAFE and not even_archived:
                return refuse_archived(request, request.knit_along, request.participant)
            return view(request, *args, **kwargs)

        return checked  # type: ignore[return-value]

    return decorate


def form_status(*forms: BaseForm) -> int:
    """Return the status of a page with forms: 422 where what was sent cannot be taken."""
    return 422 if any(form.errors for form in forms) else 200


def frame(request: MemberRequest, section: str, **context: object) -> dict[str, object]:
    """Return what every page of a knit-along needs, and the rest."""
    return {
        "knit_along": request.knit_along,
        "participant": request.participant,
        "section": section,
        **context,
    }


def refuse_archived(
    request: SiteRequest, knit_along: KnitAlong, participant: Participant | None = None
) -> HttpResponse:
    """Return the one page that answers whatever would change an archived knit-along."""
    context = {"knit_along": knit_along, "participant": participant}
    response = render(request, "kal/archived.html", context, status=409)
    # htmx puts no refusal into a page: it is told to show this one's own instead.
    if wants_fragment(request):
        response.headers["HX-Refresh"] = "true"
    return response


def find_knit_along(request: HttpRequest, slug: str) -> tuple[KnitAlong, Participant | None]:
    """Return a knit-along the reader may know of, and their membership if they take part.

    Anybody may know of a public one; the others answer 404 to all but their participants.
    """
    knit_along = get_object_or_404(KnitAlong, slug=slug)
    participant = membership_of(request, knit_along)
    if participant is None and not knit_along.is_public:
        raise Http404
    return knit_along, participant


def membership_of(request: HttpRequest, knit_along: KnitAlong) -> Participant | None:
    """Return the reader's active membership, None for strangers and visitors."""
    if not request.user.is_authenticated:
        return None
    return (
        Participant.objects.active()
        .select_related("knit_along", "user")
        .filter(user=request.user, knit_along=knit_along)
        .first()
    )


organiser_required = member_required(roles=(Role.ORGANISER,))
organiser_required_even_archived = member_required(roles=(Role.ORGANISER,), even_archived=True)
