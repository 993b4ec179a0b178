"""The organiser's batches of single-use codes: made, printed, listed, cancelled."""

from django.conf import settings
from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models import Count, Q
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from kal.actions.batches import cancel_batch, make_batch
from kal.desk.pages import desk_page
from kal.forms.joining import BatchForm
from kal.http import MemberRequest, form_status, organiser_required, posted
from kal.models import CodeBatch, JoinCode
from kal.paper.join_cards import LAYOUTS, CardWords, JoinCard, join_cards_pdf
from kal.paper.sheets import PAPERS
from kal.spreadsheets import csv_response
from kal.views.codes import CODES_PAGE, state_of

BATCHES_PAGE = 50
# Our choice: a QR code takes about 20 ms to work out, and nobody waits longer than a few seconds.
CARDS_IN_A_FILE = 200


@organiser_required
@require_http_methods(["GET", "HEAD", "POST"])
def batches(request: MemberRequest) -> HttpResponse:
    now = timezone.now()
    form = BatchForm(posted(request), knit_along=request.knit_along, now=now)
    if form.is_bound and form.is_valid():
        given = form.cleaned_data
        batch = make_batch(
            request.knit_along,
            label=given["label"],
            count=given["count"],
            expires_at=given["good_until"],
            by=request.user,
            now=now,
        )
        return redirect("kal:batch", request.knit_along.slug, batch.pk)
    made = request.knit_along.code_batches.annotate(
        total=Count("codes"), used=Count("codes", filter=Q(codes__uses__gt=0))
    )
    page = Paginator(made.order_by("-made_at", "-pk"), BATCHES_PAGE).get_page(
        request.GET.get("page")
    )
    context = {"form": form, "page": page}
    status = form_status(form)
    return desk_page(request, "kal/batches.html", context, desk_section="codes", status=status)


@organiser_required
@require_safe
def batch(request: MemberRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(request.knit_along.code_batches, pk=pk)
    page = Paginator(found.codes.order_by("pk"), CODES_PAGE).get_page(request.GET.get("page"))
    context = {
        "batch": found,
        "page": page,
        "codes": [(code, state_of(code)) for code in page],
        "used": found.codes.filter(uses__gt=0).count(),
        "parts": parts_of(page.paginator.count),
    }
    return desk_page(request, "kal/batch.html", context, desk_section="codes")


def parts_of(total: int) -> list[tuple[str, int, int]]:
    """Return number, first and last code of each file of cards."""
    starts = range(0, total, CARDS_IN_A_FILE)
    return [
        (str(number), start + 1, min(start + CARDS_IN_A_FILE, total))
        for number, start in enumerate(starts, 1)
    ]


@organiser_required
@require_safe
def batch_cards(request: MemberRequest, pk: int) -> HttpResponse:
    """Return cards of a part's codes that still admit somebody, so that no used one is printed."""
    found = get_object_or_404(request.knit_along.code_batches, pk=pk)
    paper = request.GET.get("paper", "a4")
    layout = request.GET.get("cards", "10")
    codes = list(found.codes.order_by("pk").values_list("pk", flat=True))
    parts = {number: codes[first - 1 : last] for number, first, last in parts_of(len(codes))}
    part = request.GET.get("part", "1")
    if paper not in PAPERS or layout not in LAYOUTS or part not in parts:
        raise Http404
    good = list(found.codes.usable(timezone.now()).filter(pk__in=parts[part]).order_by("pk"))
    if not good:
        messages.warning(request, _("No code here admits anybody any more."))
        return redirect("kal:batch", request.knit_along.slug, pk)
    page = join_page_of(found)
    cards = [JoinCard(code.spaced, f"{page}?code={code.code}") for code in good]
    words = CardWords(request.knit_along.title, page.partition("://")[2], _note(found))
    answer = HttpResponse(
        join_cards_pdf(cards, words, PAPERS[paper], LAYOUTS[layout]),
        content_type="application/pdf",
    )
    name = f"join-cards-{request.knit_along.slug}-{found.pk}-{part}-{paper}.pdf"
    answer["Content-Disposition"] = f'inline; filename="{name}"'
    answer["Cache-Control"] = "private, no-store"
    return answer


def join_page_of(batch: CodeBatch) -> str:
    return settings.BASE_URL + reverse("kal:join", args=[batch.knit_along.slug])


def _note(batch: CodeBatch) -> str:
    """Return how long a card is good, and for how many."""
    closes = batch.knit_along.sign_up_closes_at
    last = min(batch.expires_at, closes) if batch.expires_at else closes
    day = date_format(last.astimezone(batch.knit_along.tz), "j F Y, H:i")
    zone = batch.knit_along.zone
    return _("For one person, until %(day)s in %(zone)s.") % {"day": day, "zone": zone}


@organiser_required
@require_safe
def batch_list(request: MemberRequest, pk: int) -> HttpResponse:
    """Return every code of the batch with its state, for a spreadsheet."""
    found = get_object_or_404(request.knit_along.code_batches, pk=pk)
    page = join_page_of(found)
    heading = (_("code"), _("address"), _("batch"), _("state"))
    rows = (
        (code.spaced, f"{page}?code={code.code}", found.label, _state_words(code))
        for code in found.codes.order_by("pk")
    )
    return csv_response(f"{request.knit_along.slug}-codes-{found.pk}", [heading, *rows])


def _state_words(code: JoinCode) -> str:
    return _("used") if code.uses else state_of(code) or _("unused")


@organiser_required
@require_POST
def cancel(request: MemberRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(request.knit_along.code_batches, pk=pk)
    count = cancel_batch(found, by=request.user, now=timezone.now())
    if count is None:
        messages.info(request, _("The batch was cancelled before."))
    else:
        said = ngettext(
            "The batch is cancelled: %(count)d unused code admits nobody now.",
            "The batch is cancelled: %(count)d unused codes admit nobody now.",
            count,
        )
        messages.success(request, said % {"count": count})
    return redirect("kal:batch", request.knit_along.slug, pk)
