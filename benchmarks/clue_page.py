"""Time the clue page against the smallest authenticated view of the same size, as a ratio.

    python -m benchmarks.clue_page [rounds]

The yardstick is the smallest authenticated Django view that does session, user and membership
look-ups and renders one template of the same size: it goes through the same middleware, fetches
the membership's row alone, and renders a template ("flat") that is the clue page's own bytes
without any tag in it. A second one ("framed") has the site's frame around the clue page's main part
and says what the frame costs. Requests are taken in turn in one process, on a SQLite file of its
own; the median of wall time and of processor time are given, as other work disturbs the first.
"""

import statistics
import sys
import time
from datetime import UTC, datetime, timedelta

import benchmarks.site  # noqa: F401  sets Django up before its models are imported

# isort: split
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.template import engines
from django.template.backends.django import DjangoTemplates, Template
from django.test import Client
from django.test.utils import override_settings
from django.urls import path

from benchmarks.own_database import own_database
from kal.models import KnitAlong, Participant, User
from kal.urls import urlpatterns as site_urlpatterns
from schedule.models import Clue, LetterUse, Revision

ROUNDS = 1_500
CLUES = 6
NOW = datetime.now(UTC)
ROW = "Row {0}: *sl1*, k{1}, **yo**, k2tog, pm, knit to the last three stitches, yo, k3.\n"
FRAME = '{% extends "knit_along.html" %}{% block main %}'
templates: dict[str, Template] = {}


def yardstick(request: HttpRequest, slug: str, name: str) -> HttpResponse:
    """The least a page for participants has to do."""
    members = Participant.objects.active()
    if name == "framed":
        members = members.select_related("knit_along")
    participant = get_object_or_404(members, user=request.user, knit_along__slug=slug)
    context: dict[str, object] = {"participant": participant}
    if name == "framed":
        context["knit_along"] = participant.knit_along
    return HttpResponse(templates[name].render(context, request))


urlpatterns = [
    path("yardstick/<slug:slug>/<str:name>/", login_required(yardstick)),
    *site_urlpatterns,
]


def fill() -> tuple[KnitAlong, User]:
    """Store a knit-along with six clues that are out, and return it and one participant."""
    knit_along = KnitAlong.objects.create(
        slug="harbour",
        title="Harbour Lights",
        zone="Europe/Lisbon",
        sign_up_opens_at=NOW - timedelta(days=90),
        sign_up_closes_at=NOW + timedelta(days=90),
        cast_on_at=NOW - timedelta(days=60),
    )
    for number in range(1, CLUES + 1):
        clue = Clue.objects.create(
            knit_along=knit_along,
            number=number,
            title=f"Wall {number}",
            release_at=knit_along.cast_on_at + timedelta(days=7 * number),
            ready_at=knit_along.cast_on_at,
        )
        body = "# Set-up\n\n" + "".join(ROW.format(row, row * 2) for row in range(1, 41))
        revision = Revision.objects.create(clue=clue, number=1, body=body, saved_at=NOW)
        for letter in knit_along.letters:
            LetterUse.objects.create(revision=revision, letter=letter, grams=25)
    user = User.objects.create_user("kit@knitters.example", name="Kit", zone="Asia/Tokyo")
    Participant.objects.create(user=user, knit_along=knit_along)
    return knit_along, user


def make_templates(page: str) -> None:
    """Make yardsticks of the page: its main part in the same frame, and all of it flat."""
    django = engines["django"]
    assert isinstance(django, DjangoTemplates)
    main = page[page.index('<main id="main" tabindex="-1">') + 30 : page.index("</main>")]
    framed = f"{FRAME}{{% verbatim %}}{main}{{% endverbatim %}}{{% endblock %}}"
    templates["framed"] = django.from_string(framed)
    flat = f"{{% verbatim %}}{page}{{% endverbatim %}}"
    templates["flat"] = django.from_string(flat)


type Taken = dict[str, list[tuple[float, float]]]


def time_each(client: Client, addresses: dict[str, str], rounds: int) -> Taken:
    """Return milliseconds on the wall and of processor for every request, the pages in turn."""
    taken: Taken = {name: [] for name in addresses}
    for _ in range(rounds):
        for name, address in addresses.items():
            start, spent = time.perf_counter(), time.thread_time()
            response = client.get(address)
            wall, processor = time.perf_counter() - start, time.thread_time() - spent
            taken[name].append((wall * 1000, processor * 1000))
            assert response.status_code == 200, address
    return taken


def main(arguments: list[str]) -> None:
    rounds = int(arguments[0]) if arguments else ROUNDS
    with (
        own_database(),
        override_settings(ROOT_URLCONF=__name__, ALLOWED_HOSTS=["testserver"]),
    ):
        knit_along, user = fill()
        client = Client()
        client.force_login(user)
        addresses = {"clue page": f"/k/{knit_along.slug}/clues/3/"}
        make_templates(client.get(addresses["clue page"]).content.decode())
        for name in templates:
            addresses[name] = f"/yardstick/{knit_along.slug}/{name}/"
        sizes = {name: len(client.get(url).content) for name, url in addresses.items()}
        time_each(client, addresses, rounds // 10)
        taken = time_each(client, addresses, rounds)
    report(taken, sizes)


def report(taken: Taken, sizes: dict[str, int]) -> None:
    medians = {
        name: tuple(map(statistics.median, zip(*times, strict=True)))
        for name, times in taken.items()
    }
    for name, times in taken.items():
        wall, processor = (
            yardstick / page
            for yardstick, page in zip(medians[name], medians["clue page"], strict=True)
        )
        slowest = statistics.quantiles([time for time, _ in times], n=100)[98]
        print(
            f"{name:<10} {sizes[name]:>6} bytes  median {medians[name][0]:6.2f} ms  "
            f"p99 {slowest:6.2f} ms  clue page at {wall:.0%} of its requests/s "
            f"({processor:.0%} by processor time)"
        )


if __name__ == "__main__":
    main(sys.argv[1:])
