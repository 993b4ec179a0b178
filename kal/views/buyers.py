"""Importing a shop's list of buyers, undoing an import, and moving a place."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from kal.actions.buyers import confirm_import, keep_file, new_rows, undo_import
from kal.actions.places import transfer_place
from kal.desk.pages import desk_page
from kal.errors import KnitAlongError
from kal.forms.joining import BuyersForm, TransferForm
from kal.http import MemberRequest, form_status, organiser_required, posted
from kal.models import KnitAlong
from kal.spreadsheets import csv_response

IMPORTS_PAGE = 50
FAULTS_SHOWN = 50
ROWS_SHOWN = 10


@organiser_required
@require_http_methods(["GET", "HEAD", "POST"])
def import_buyers(request: MemberRequest) -> HttpResponse:
    """Take a file to be looked at before anything is on the list, and list the earlier imports."""
    form = BuyersForm(posted(request), request.FILES or None)
    if form.is_bound and form.is_valid():
        kept = keep_file(
            request.knit_along,
            form.cleaned_data["file"],
            file_name=form.file_name,
            now=timezone.now(),
        )
        return redirect("kal:buyers_import", request.knit_along.slug, kept.pk)
    done = request.knit_along.buyers_imports.filter(confirmed_at__isnull=False)
    context: dict[str, object] = {
        "form": form,
        "waiting": request.knit_along.buyers_imports.waiting().first(),
        "page": Paginator(done, IMPORTS_PAGE).get_page(request.GET.get("page")),
    }
    status = form_status(form)
    return desk_page(request, "kal/import_buyers.html", context, desk_section="list", status=status)


@organiser_required
@require_safe
def buyers_import(request: MemberRequest, pk: int) -> HttpResponse:
    """Show what a file would do, with a sentence for each row that cannot be taken."""
    found = get_object_or_404(request.knit_along.buyers_imports, pk=pk)
    if found.confirmed_at:
        return redirect("kal:import_buyers", request.knit_along.slug)
    fresh = new_rows(found)
    context = {
        "found": found,
        "fresh": len(fresh),
        "known": len(found.rows) - len(fresh),
        "rows": fresh[:ROWS_SHOWN],
        "faults": [fault for fault in found.faults if fault][:FAULTS_SHOWN],
        "more_faults": max(0, len(found.faults) - FAULTS_SHOWN),
    }
    return desk_page(request, "kal/buyers_import.html", context, desk_section="list")


@organiser_required
@require_POST
def confirm(request: MemberRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(request.knit_along.buyers_imports, pk=pk)
    added = confirm_import(found, by=request.user, now=timezone.now())
    if added is None:
        messages.info(request, _("That file was imported before; nothing has changed."))
    else:
        said = ngettext(
            "%(count)d address is on the list now.",
            "%(count)d addresses are on the list now.",
            added,
        )
        messages.success(request, said % {"count": added})
        if request.knit_along.join_rule != KnitAlong.JoinRule.LIST:
            messages.warning(request, _("Nobody gets in by it yet: the rule is another one."))
    return redirect("kal:import_buyers", request.knit_along.slug)


@organiser_required
@require_POST
def undo(request: MemberRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(request.knit_along.buyers_imports, pk=pk)
    outcome = undo_import(found, by=request.user, now=timezone.now())
    if outcome is None:
        messages.info(request, _("There is nothing to undo there any more."))
    else:
        taken, stay = outcome
        said = _("Undone: %(taken)d taken off the list, %(stay)d kept because they have joined.")
        messages.success(request, said % {"taken": taken, "stay": stay})
    return redirect("kal:import_buyers", request.knit_along.slug)


@organiser_required
@require_safe
def join_list_file(request: MemberRequest) -> HttpResponse:
    """Return the whole join list for a spreadsheet."""
    heading = (_("mail address"), _("name"), _("order reference"), _("has joined"))
    entries = request.knit_along.join_list.all()
    unused = set(entries.unused().values_list("pk", flat=True))
    rows = (
        (one.email, one.name, one.order_reference, _("no") if one.pk in unused else _("yes"))
        for one in entries.iterator(2000)
    )
    return csv_response(f"{request.knit_along.slug}-join-list", [heading, *rows])


@organiser_required
@require_http_methods(["GET", "HEAD", "POST"])
def transfer(request: MemberRequest) -> HttpResponse:
    """Move a place from one mail address to another."""
    form = TransferForm(posted(request), initial={"old": request.GET.get("from", "")[:254]})
    if form.is_bound and form.is_valid():
        try:
            transfer_place(
                request.knit_along, by=request.user, now=timezone.now(), **form.cleaned_data
            )
        except KnitAlongError as refusal:
            form.add_error(None, str(refusal))
        else:
            said = _("The place is that of %(email)s now; send them the address of the join page.")
            messages.success(request, said % {"email": form.cleaned_data["new"]})
            return redirect("kal:join_list", request.knit_along.slug)
    status = form_status(form)
    context: dict[str, object] = {"form": form}
    return desk_page(request, "kal/transfer.html", context, desk_section="people", status=status)
