"""After the last clue: the archive, next year's knit-along, and how long data is kept."""

from datetime import timedelta

from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from kal.desk.pages import desk_page
from kal.forms.keeping import CloneForm, KeepForm
from kal.http import MemberRequest, form_status, organiser_required_even_archived, posted
from kal.views.knit_alongs import tell_more
from kal.yarn_weights import YARN_WEIGHTS
from schedule.actions.archive import archive_knit_along, keep_data_for, unarchive_knit_along
from schedule.actions.clone import clone_knit_along, wall_times_anew
from schedule.erasing import days_kept, due_in, ends_at
from schedule.errors import NotOver


@organiser_required_even_archived
@require_http_methods(["GET", "HEAD", "POST"])
def keeping(request: MemberRequest) -> HttpResponse:
    initial = {"days": request.knit_along.erase_left_after}
    form = KeepForm(posted(request), initial=initial)
    if request.method == "POST" and form.is_valid():
        days = form.cleaned_data["days"]
        keep_data_for(request.knit_along, days, by=request.user, now=timezone.now())
        messages.success(request, _("How long data is kept is saved."))
        return redirect("kal:keeping", request.knit_along.slug)
    return keeping_page(request, form)


@organiser_required_even_archived
@require_POST
def archive(request: MemberRequest) -> HttpResponse:
    now = timezone.now()
    if request.POST.get("archived") != "yes":
        unarchive_knit_along(request.knit_along, by=request.user, now=now)
        messages.success(request, _("It is out of the archive and can be changed."))
        return redirect("kal:keeping", request.knit_along.slug)
    try:
        archive_knit_along(request.knit_along, by=request.user, now=now)
    except NotOver as refusal:
        return keeping_page(request, KeepForm(), problem=str(refusal))
    messages.success(request, _("It is archived: everything can be read, nothing changed."))
    return redirect("kal:keeping", request.knit_along.slug)


@organiser_required_even_archived
@require_http_methods(["GET", "HEAD", "POST"])
def clone(request: MemberRequest) -> HttpResponse:
    if not request.user.may_host:
        raise Http404
    now, source = timezone.now(), request.knit_along
    walls = wall_times_anew(source, now)
    form = CloneForm(posted(request), source=source, walls=walls, now=now)
    if request.method == "POST" and form.is_valid():
        with_texts = form.cleaned_data["with_texts"]
        clone_knit_along(
            source, form.instance, form.needs(), with_texts=with_texts, by=request.user, now=now
        )
        tell_more(request, form)
        return redirect("schedule:desk_clues", form.instance.slug)
    context = {"form": form, "yarn_weights": YARN_WEIGHTS}
    status = form_status(form)
    return desk_page(request, "kal/clone.html", context, desk_section="keeping", status=status)


def keeping_page(request: MemberRequest, form: KeepForm, *, problem: str = "") -> HttpResponse:
    knit_along, now = request.knit_along, timezone.now()
    days = days_kept(knit_along)
    from_at = ends_at(knit_along) + timedelta(days=days)
    left = knit_along.participants.filter(left_at__isnull=False)
    context = {
        "form": form,
        "problem": problem,
        "days": days,
        "site_days": settings.ERASE_LEFT_AFTER,
        "left": left.count(),
        "due": due_in(knit_along, now).count(),
        "from_at": from_at,
        "has_begun": from_at <= now,
        "erased": knit_along.erasures.count(),
    }
    status = 422 if problem or form.errors else 200
    return desk_page(request, "kal/keeping.html", context, desk_section="keeping", status=status)
