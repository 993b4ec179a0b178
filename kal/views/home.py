"""The first page: my knit-alongs and what is next in each, or the public ones."""

from django.db.models import Exists, OuterRef
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from kal.models import KnitAlong, Participant
from kal.views.next_steps import next_steps
from palettes.models import KitMaker

PUBLIC_SHOWN = 30  # our choice; one site hosts a few knit-alongs a year


@require_safe
def home(request: HttpRequest) -> HttpResponse:
    now = timezone.now()
    user = request.user
    joined, makers = Participant.objects.none(), KitMaker.objects.none()
    others = KnitAlong.objects.public()
    if user.is_authenticated:
        joined = user.memberships.active().select_related("knit_along", "user")
        mine = joined.filter(knit_along=OuterRef("pk"))
        others = others.exclude(Exists(mine))
        makers = KitMaker.objects.standing(user).select_related("knit_along").order_by("-pk")
    memberships = list(joined.order_by("-knit_along__cast_on_at"))
    steps = next_steps(memberships, now)
    context = {
        "memberships": [(one, steps[one.pk]) for one in memberships],
        "others": [(one, one.is_sign_up_open(now)) for one in others[:PUBLIC_SHOWN]],
        "makers": makers,
        "may_host": user.is_authenticated and user.may_host,
        "now": now,
    }
    return render(request, "kal/home.html", context)
