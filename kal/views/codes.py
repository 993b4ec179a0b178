"""The organiser's join codes and join list."""

from django.conf import settings
from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST

from kal.actions.codes import add_to_join_list, make_codes, remove_from_join_list, withdraw_code
from kal.desk.pages import desk_page, query_but_page
from kal.forms.joining import JoinCodeForm, JoinListForm
from kal.http import MemberRequest, form_status, organiser_required, posted
from kal.models import JoinCode

CODES_PAGE = 100
LIST_PAGE = 100


@organiser_required
@require_http_methods(["GET", "HEAD", "POST"])
def codes(request: MemberRequest) -> HttpResponse:
    now = timezone.now()
    template = JoinCode(knit_along=request.knit_along)
    form = JoinCodeForm(posted(request), instance=template, now=now)
    if request.method == "POST" and form.is_valid():
        count = form.cleaned_data["count"]
        make_codes(template, count, by=request.user, now=now)
        messages.success(
            request,
            ngettext("{count} code is made.", "{count} codes are made.", count).format(count=count),
        )
        return redirect("kal:codes", request.knit_along.slug)
    listed = request.knit_along.join_codes.filter(batch=None).order_by("-created_at", "-pk")
    page = Paginator(listed, CODES_PAGE).get_page(request.GET.get("page"))
    join_address = reverse("kal:join", args=[request.knit_along.slug])
    context = {
        "form": form,
        "page": page,
        "codes": [(code, state_of(code)) for code in page],
        "join_link": f"{settings.BASE_URL}{join_address}",
    }
    status = form_status(form)
    return desk_page(request, "kal/codes.html", context, desk_section="codes", status=status)


def state_of(code: JoinCode) -> str:
    """Return why a code admits nobody any more, '' while it is good."""
    if code.withdrawn_at:
        return _("withdrawn")
    if code.is_expired(timezone.now()):
        return _("expired")
    return _("used up") if code.is_used_up else ""


@organiser_required
@require_POST
def withdraw(request: MemberRequest, pk: int) -> HttpResponse:
    code = get_object_or_404(request.knit_along.join_codes, pk=pk)
    withdraw_code(code, by=request.user, now=timezone.now())
    messages.success(request, _("The code {spaced} is withdrawn.").format(spaced=code.spaced))
    return redirect("kal:codes", request.knit_along.slug)


@organiser_required
@require_http_methods(["GET", "HEAD", "POST"])
def join_list(request: MemberRequest) -> HttpResponse:
    form = JoinListForm(posted(request))
    if request.method == "POST" and form.is_valid():
        given = form.cleaned_data["addresses"]
        added = add_to_join_list(request.knit_along, given, by=request.user, now=timezone.now())
        messages.success(
            request,
            _("{added} added; {known} were on the list before.").format(
                added=added, known=len(given) - added
            ),
        )
        return redirect("kal:join_list", request.knit_along.slug)
    words = request.GET.get("q", "").strip()[:80]
    listed = request.knit_along.join_list.filter(email__icontains=words).with_use()
    context = {
        "form": form,
        "words": words,
        "pages_query": query_but_page(request),
        "page": Paginator(listed, LIST_PAGE).get_page(request.GET.get("page")),
    }
    status = form_status(form)
    return desk_page(request, "kal/join_list.html", context, desk_section="list", status=status)


@organiser_required
@require_POST
def remove_from_list(request: MemberRequest, pk: int) -> HttpResponse:
    entry = get_object_or_404(request.knit_along.join_list, pk=pk)
    remove_from_join_list(entry, by=request.user, now=timezone.now())
    messages.success(request, _("{email} is off the list.").format(email=entry.email))
    return redirect("kal:join_list", request.knit_along.slug)
