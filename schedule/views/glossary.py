"""The organiser's page of abbreviations that the clues of a knit-along share."""

from django.contrib import messages
from django.http import HttpResponseBase
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from kal.http import MemberRequest, organiser_required, posted
from schedule.actions import write_glossary
from schedule.glossary_form import GlossaryForm, lines_of, state_of
from schedule.models import GlossaryEntry
from schedule.views.reading import never_kept


@require_http_methods(["GET", "HEAD", "POST"])
@never_kept
@organiser_required
def glossary(request: MemberRequest) -> HttpResponseBase:
    stored = GlossaryEntry.objects.meanings(request.knit_along)
    initial = {"lines": lines_of(stored), "began_from": state_of(stored)}
    form = GlossaryForm(posted(request), initial=initial)
    is_stale = form.is_bound and form.data.get("began_from") != state_of(stored)
    if form.is_bound and not is_stale and form.is_valid():
        meanings = form.cleaned_data["lines"]
        changed = write_glossary(request.knit_along, meanings, by=request.user, now=timezone.now())
        messages.success(request, _("Saved.") if changed else _("Nothing was changed."))
        return redirect("schedule:glossary", request.knit_along.slug)
    if is_stale:
        data = request.POST.copy()
        data["began_from"] = state_of(stored)
        form = GlossaryForm(data)
    context = {
        "knit_along": request.knit_along,
        "participant": request.participant,
        "section": "desk",
        "desk_section": "glossary",
        "form": form,
        "theirs": lines_of(stored) if is_stale else "",
        "is_stale": is_stale,
    }
    status = 409 if is_stale else 422 if form.is_bound else 200
    return render(request, "schedule/glossary.html", context, status=status)
