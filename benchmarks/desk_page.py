"""Time the desk of a crowd of 10,000, as ratios to the smallest page behind a sign-in.

    python -m benchmarks.desk_page [people]

The crowd, its random colours and the yardstick are those of benchmarks/gallery_page.py. Five of
eight clues are out, and everybody has a notice of each. A figure that keeps what it reckoned is
timed both ways.
"""

import argparse
import sys
from collections.abc import Callable
from datetime import timedelta

import benchmarks.site  # noqa: F401  sets Django up before its models are imported

# isort: split
from django.core.cache import cache
from django.db import connection
from django.test import Client
from django.test.utils import override_settings
from django.urls import reverse
from django.utils import timezone

from benchmarks.gallery_page import fill, getter, least
from benchmarks.own_database import own_database
from kal.models import KnitAlong, Participant, Role, User
from kal.views.desk_parts import FIGURES
from schedule.models import Clue, Notice, Revision

PEOPLE = 10_000
CLUES, OUT = 8, 5
BATCH = 5_000


def host(knit_along: KnitAlong) -> User:
    """Return a new organiser of the knit-along."""
    user = User.objects.create_user(email="hana@knitters.example", name="Hana")
    Participant.objects.create(user=user, knit_along=knit_along, role=Role.ORGANISER)
    return user


def fill_clues(knit_along: KnitAlong) -> None:
    now = timezone.now()
    people = list(Participant.objects.filter(knit_along=knit_along).values_list("pk", flat=True))
    for number in range(1, CLUES + 1):
        at = now + timedelta(weeks=number - OUT, hours=-1)
        clue = Clue.objects.create(
            knit_along=knit_along, number=number, release_at=at, ready_at=at, announced_at=now
        )
        Revision.objects.create(clue=clue, number=1, body="Cast on 5.", saved_at=at)
        if number <= OUT:
            Notice.objects.bulk_create(
                (
                    Notice(
                        participant_id=person,
                        clue=clue,
                        kind="clue-out",
                        mail_id=f"{number}-{person}@knitters.example",
                        try_after=at,
                        sent_at=at,
                    )
                    for person in people
                ),
                batch_size=BATCH,
            )


def forgetting(work: Callable[[], object]) -> Callable[[], object]:
    def anew() -> object:
        cache.clear()
        return work()

    return anew


def pages(client: Client, knit_along: KnitAlong) -> dict[str, Callable[[], object]]:
    works = {
        "smallest page": getter(client, "/smallest/"),
        "the desk": getter(client, reverse("kal:desk", args=[knit_along.slug])),
    }
    for name in FIGURES:
        work = getter(client, reverse("kal:desk_figure", args=[knit_along.slug, name]))
        works[f"figure {name}"] = work
    works["verdicts, reckoned anew"] = forgetting(works["figure verdicts"])
    return works


def main(arguments: list[str]) -> None:
    parser = argparse.ArgumentParser(prog="python -m benchmarks.desk_page")
    parser.add_argument("people", nargs="?", type=int, default=PEOPLE)
    asked = parser.parse_args(arguments)
    with (
        own_database(),
        override_settings(ROOT_URLCONF="benchmarks.gallery_page", ALLOWED_HOSTS=["testserver"]),
    ):
        knit_along, _reader = fill(asked.people)
        fill_clues(knit_along)
        client = Client()
        client.force_login(host(knit_along))
        with connection.cursor() as cursor:
            cursor.execute("ANALYZE")
        taken = least(pages(client, knit_along))
    yardstick = taken["smallest page"].elapsed
    print(f"{asked.people} people on {connection.vendor}")
    for name, (elapsed, _processor) in taken.items():
        print(f"{name:28}{elapsed:8.2f} ms{elapsed / yardstick:8.1f} times the smallest")


if __name__ == "__main__":
    main(sys.argv[1:])
