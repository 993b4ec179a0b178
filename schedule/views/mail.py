"""Pages about the mail that notices are."""

from django.http import Http404, HttpRequest, HttpResponseBase

from kal.http import MemberRequest, organiser_required


@organiser_required
def notices(request: MemberRequest) -> HttpResponseBase:
    raise Http404


def unsubscribe(request: HttpRequest, slug: str, token: str) -> HttpResponseBase:
    raise Http404
