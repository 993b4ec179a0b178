"""What pages of progress, questions and moderation share."""

from datetime import datetime

from django.core.paginator import Page, Paginator
from django.db.models import Model, QuerySet
from django.http import Http404
from django.shortcuts import get_object_or_404
from django.utils.translation import gettext_lazy as _

from kal.http import MemberRequest
from schedule.models import Clue
from schedule.visibility import readable_clues

PAGE = 20
UNPROCESSABLE, TOO_MANY_REQUESTS = 422, 429
TOO_MANY = _(
    "That is as much as one person may send in a day. Please keep it, and send it tomorrow."
)


def page_of[T: Model](request: MemberRequest, found: QuerySet[T]) -> Page[T]:
    return Paginator(found, PAGE).get_page(request.GET.get("page"))


def numbers_for(request: MemberRequest, now: datetime) -> list[int]:
    """Return the numbers of the clues the reader may read."""
    readable = readable_clues(request.participant, now).order_by("number")
    return list(readable.values_list("number", flat=True))


def chosen_number(request: MemberRequest, numbers: list[int]) -> int | None:
    """Return the clue that a list is asked for by ?clue=, None for all; 404 for another."""
    asked = request.GET.get("clue", "")
    if not asked:
        return None
    if asked not in map(str, numbers):
        raise Http404
    return int(asked)


def clue_about(request: MemberRequest, number: int, now: datetime) -> Clue:
    readable = readable_clues(request.participant, now).select_related("knit_along")
    return get_object_or_404(readable, number=number)
