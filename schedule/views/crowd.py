"""What pages of progress, questions and moderation share."""

from datetime import datetime

from allauth.core.ratelimit import consume
from django.core.paginator import Page, Paginator
from django.db.models import Model, QuerySet
from django.forms import BaseForm
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


def clue_offered(request: MemberRequest, numbers: list[int]) -> str:
    """Return the clue that a form begins with: that of ?clue=, else the last one readable."""
    return request.GET.get("clue") or (str(numbers[-1]) if numbers else "")


def within_limit(request: MemberRequest, form: BaseForm, action: str) -> bool:
    """Count this one in; False, and a word on the form, when they were too many for a while."""
    if consume(request, action=action):
        return True
    form.add_error(None, str(TOO_MANY))
    return False


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
