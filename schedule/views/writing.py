"""Pages where the organiser writes a clue."""

from django.http import Http404, HttpResponseBase

from kal.http import MemberRequest, organiser_required


@organiser_required
def edit_clue(request: MemberRequest, number: int) -> HttpResponseBase:
    raise Http404


@organiser_required
def preview_clue(request: MemberRequest, number: int) -> HttpResponseBase:
    raise Http404


@organiser_required
def add_attachment(request: MemberRequest, number: int) -> HttpResponseBase:
    raise Http404
