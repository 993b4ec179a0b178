"""Pages where clues are read."""

from uuid import UUID

from django.http import Http404, HttpResponseBase

from kal.http import MemberRequest, member_required


@member_required()
def clues(request: MemberRequest) -> HttpResponseBase:
    raise Http404


@member_required()
def clue(request: MemberRequest, number: int) -> HttpResponseBase:
    raise Http404


@member_required()
def attachment(request: MemberRequest, number: int, key: UUID) -> HttpResponseBase:
    raise Http404
