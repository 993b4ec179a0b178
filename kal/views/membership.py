"""A participant's own wishes, and leaving."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from kal.actions import people
from kal.errors import LastOrganiser
from kal.forms.joining import WishesForm
from kal.http import MemberRequest, member_required, posted


@member_required(even_archived=True)
@require_http_methods(["GET", "HEAD", "POST"])
def membership(request: MemberRequest) -> HttpResponse:
    form = WishesForm(posted(request), instance=request.participant)
    if request.method == "POST" and form.is_valid():
        people.keep_wishes(form.instance, now=timezone.now())
        messages.success(request, _("Your wishes are saved."))
        return redirect("kal:membership", request.knit_along.slug)
    return membership_page(request, form)


@member_required(even_archived=True)
@require_POST
def leave(request: MemberRequest) -> HttpResponse:
    try:
        people.leave(request.participant, now=timezone.now())
    except LastOrganiser as refusal:
        form = WishesForm(instance=request.participant)
        return membership_page(request, form, problem=str(refusal))
    messages.success(
        request, _("You have left {knit_along}.").format(knit_along=request.knit_along)
    )
    return redirect("kal:home")


def membership_page(request: MemberRequest, form: WishesForm, *, problem: str = "") -> HttpResponse:
    context = {
        "knit_along": request.knit_along,
        "participant": request.participant,
        "form": form,
        "problem": problem,
        "section": "membership",
    }
    status = 422 if problem or form.errors else 200
    return render(request, "kal/membership.html", context, status=status)
