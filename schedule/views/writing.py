"""Pages where the organiser writes a clue and sees it as a participant will."""

from datetime import datetime

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.csrf import csrf_exempt, csrf_protect
from django.views.decorators.http import require_http_methods, require_safe

from kal.http import MemberRequest, organiser_required
from palettes.uploads import PhotoUploadHandler
from schedule.actions import save_clue, store_attachment
from schedule.actions.write import draft_of
from schedule.errors import NoteMissing, ScheduleError, StaleEdit
from schedule.forms import ClueForm, initial_of
from schedule.models import Clue
from schedule.reading import preview_clue as previewed
from schedule.views.planning import state_of
from schedule.views.reading import never_kept


@csrf_exempt  # checked below: reading the token first would fix the upload handlers
@require_http_methods(["GET", "HEAD", "POST"])
def edit_clue(request: HttpRequest, slug: str, number: int) -> HttpResponseBase:
    # In memory only, so that what a photo says of its place never touches the disk.
    request.upload_handlers = [PhotoUploadHandler(request)]
    return _edit_clue(request, slug, number)


@csrf_protect
@never_kept
@organiser_required
def _edit_clue(request: MemberRequest, number: int) -> HttpResponseBase:
    clue = get_object_or_404(
        Clue.objects.select_related("knit_along"), knit_along=request.knit_along, number=number
    )
    now = timezone.now()
    if request.method == "POST":
        return _save(request, clue, now)
    newest = clue.revision
    form = ClueForm(
        initial=initial_of(draft_of(clue), newest.number if newest else 0),
        clue=clue,
        is_released=clue.is_released(now),
    )
    return _page(request, clue, form, now)


def _save(request: MemberRequest, clue: Clue, now: datetime) -> HttpResponseBase:
    is_released = clue.is_released(now)
    form = ClueForm(request.POST, request.FILES, clue=clue, is_released=is_released)
    if not form.is_valid() and form.usable_file is None:
        return _page(request, clue, form, now, status=422)
    data = request.POST.copy()
    if form.usable_file:
        # Stored before anything else can fail, so that a good file need not be chosen twice.
        kept = store_attachment(
            clue, form.usable_file, alt=data.get("new_alt", ""), by=request.user, now=now
        )
        data.appendlist("kept_files", str(kept.pk))
        data["new_alt"] = ""
        form = ClueForm(data, clue=clue, is_released=is_released)
    if not form.is_valid():
        return _page(request, clue, form, now, status=422)
    try:
        changed = save_clue(
            clue,
            form.draft(),
            began_from=form.cleaned_data["began_from"],
            by=request.user,
            now=now,
        )
    except StaleEdit as stale:
        data["began_from"] = str(stale.newest.number)
        form = ClueForm(data, clue=clue, is_released=is_released)
        return _page(request, clue, form, now, status=409, stale=stale)
    except ScheduleError as refused:
        form.add_error("note" if isinstance(refused, NoteMissing) else "body", str(refused))
        return _page(request, clue, form, now, status=422)
    messages.success(request, "Saved." if changed else "Nothing was changed.")
    return redirect("schedule:edit_clue", clue.knit_along.slug, clue.number)


def _page(
    request: MemberRequest,
    clue: Clue,
    form: ClueForm,
    now: datetime,
    *,
    status: int = 200,
    stale: StaleEdit | None = None,
) -> HttpResponseBase:
    context = {
        "knit_along": request.knit_along,
        "participant": request.participant,
        "section": "desk",
        "clue": clue,
        "state": state_of(clue, now),
        "is_released": clue.is_released(now),
        "form": form,
        "stale": stale,
        "revisions": clue.revisions.select_related("author").order_by("-number"),
    }
    return render(request, "schedule/edit_clue.html", context, status=status)


@require_safe
@never_kept
@organiser_required
def preview_clue(request: MemberRequest, number: int) -> HttpResponseBase:
    opened = previewed(request.participant, number)
    if opened is None:
        raise Http404
    context = {
        "knit_along": request.knit_along,
        "participant": request.participant,
        "section": "desk",
        "clue": opened,
    }
    return render(request, "schedule/preview_clue.html", context)
