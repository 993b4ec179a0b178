"""For whoever watches over the site: is it alive, is it ready, is the worker about, and counts.

None of it tells of a person or a clue. Health is for anybody to ask, counts for who has the token.
"""

from datetime import datetime
from functools import partial

from django.conf import settings
from django.db.models import Count, Q
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.utils import timezone
from django.utils.crypto import constant_time_compare
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe
from django_tasks_db.models import DBTaskResult

from kal import metrics
from kal.health import OK, check_worker, last_errand, readiness, state_of
from schedule.models import Notice

SERVICE_UNAVAILABLE = 503


@require_safe
@never_cache
def live(request: HttpRequest) -> HttpResponse:
    """This process answers; no other is asked."""
    return JsonResponse({"process": OK})


@require_safe
@never_cache
def ready(request: HttpRequest) -> HttpResponse:
    """This process can serve pages: 503, with what fails, when it cannot."""
    return _answer(readiness.look())


@require_safe
@never_cache
def worker(request: HttpRequest) -> HttpResponse:
    """A worker has done something lately. Without one mail waits, while every page is served."""
    return _answer({"worker": state_of(partial(check_worker, timezone.now()), "worker")})


def _answer(states: dict[str, str]) -> HttpResponse:
    is_well = all(state == OK for state in states.values())
    return JsonResponse(states, status=200 if is_well else SERVICE_UNAVAILABLE)


@require_safe
@never_cache
def counts(request: HttpRequest) -> HttpResponse:
    """Counts for Prometheus or what reads its format; 404 to all who have no token."""
    token = settings.METRICS_TOKEN
    given = request.headers.get("Authorization", "")
    if not token or not constant_time_compare(given, f"Bearer {token}"):
        raise Http404
    text = metrics.exposition(_gauges(timezone.now()))
    return HttpResponse(text, content_type=metrics.CONTENT_TYPE)


def _gauges(now: datetime) -> list[metrics.Gauge]:
    notices = Notice.objects.order_by().aggregate(
        sent=Count("pk", filter=Q(sent_at__isnull=False)),
        waiting=Count("pk", filter=Q(sent_at=None, gave_up_at=None)),
        given_up=Count("pk", filter=Q(gave_up_at__isnull=False)),
    )
    by_state: dict[tuple[tuple[str, str], ...], float] = {
        (("state", state),): float(number) for state, number in notices.items()
    }
    ready = DBTaskResult.objects.ready().order_by("run_after").first()
    overdue = (now - min(ready.run_after, now)).total_seconds() if ready else 0.0
    finished = last_errand()
    idle = (now - finished).total_seconds() if finished else float("nan")
    failed = DBTaskResult.objects.failed().count()
    return [
        ("kal_notices", "Notices in the ledger, by what became of them.", by_state),
        ("kal_worker_lag_seconds", "How long the oldest errand has been due.", {(): overdue}),
        ("kal_worker_idle_seconds", "Since a worker last finished one.", {(): idle}),
        ("kal_failed_errands", "Errands that failed and are still on record.", {(): failed}),
    ]
