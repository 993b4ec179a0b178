"""The organiser's schedule of clues."""

from django.http import Http404, HttpResponseBase

from kal.http import MemberRequest, organiser_required


@organiser_required
def desk_clues(request: MemberRequest) -> HttpResponseBase:
    raise Http404


@organiser_required
def add_clue(request: MemberRequest) -> HttpResponseBase:
    raise Http404


@organiser_required
def ready_clue(request: MemberRequest, number: int) -> HttpResponseBase:
    raise Http404


@organiser_required
def hold_clue(request: MemberRequest, number: int) -> HttpResponseBase:
    raise Http404


@organiser_required
def remove_clue(request: MemberRequest, number: int) -> HttpResponseBase:
    raise Http404
