"""Time the dry run of 100,000 registered palettes, read from the database, and its page for 5,000.

    python -m benchmarks.dry_run [palettes]

Runs on the database of KAL_DATABASE_URL, in a test database of its own that is removed again; on
SQLite that is a file. Compared in the same run with working out some of the palettes one by one,
their rows given. Palettes are random colours, made up for this; one owner in five keeps letters.
"""

import sys
import time
from datetime import UTC, datetime, timedelta
from itertools import batched

import benchmarks.site  # noqa: F401  sets Django up before its models are imported

# isort: split
import numpy as np
from django.test import Client
from django.test.utils import override_settings

from benchmarks.own_database import own_database
from kal.models import KnitAlong, LetterNeed, Participant, Role, User
from palettes.audits import fabric_of, needs_of
from palettes.colour.letters import ALPHABET, assess, plan_letters
from palettes.crowd_rows import read_crowd
from palettes.models import Palette, RegisteredYarn, Registration
from palettes.models.yarn_facts import DyeStyle
from schedule.dry_run import dry_run
from schedule.models import Clue, LetterChoice, Meeting, PlanOpening, Revision

PALETTES = 100_000
ON_A_PAGE = 5_000
ONE_BY_ONE = 300
YARNS = 5
BATCH = 5_000
KEEPS_ONE_IN = 5
NOW = datetime(2027, 3, 1, 12, tzinfo=UTC)
# Six clues; a pair or two in each, as a shawl of five colours has them.
MEETINGS = (
    "AB workable",
    "AC close, CD workable",
    "BD strong",
    "AE workable",
    "CE close",
    "DE close",
)


def make_knit_along(slug: str) -> KnitAlong:
    """Store a knit-along with six clues that say which letters meet, its letter plan open."""
    knit_along = KnitAlong.objects.create(
        slug=slug,
        title=slug.title(),
        zone="UTC",
        sign_up_opens_at=NOW,
        sign_up_closes_at=NOW + timedelta(days=1),
        cast_on_at=NOW,
    )
    for number, said in enumerate(MEETINGS, start=1):
        clue = Clue.objects.create(
            knit_along=knit_along, number=number, release_at=NOW + timedelta(weeks=number)
        )
        revision = Revision.objects.create(clue=clue, number=1, body="", saved_at=NOW)
        for letters, needs in (one.split() for one in said.split(", ")):
            Meeting.objects.create(
                revision=revision, first=letters[0], second=letters[1], needs=needs
            )
    PlanOpening.objects.create(knit_along=knit_along, opens_at=NOW)
    LetterNeed.objects.bulk_create(
        LetterNeed(knit_along=knit_along, letter=letter, grams=grams, metres=4 * grams)
        for letter, grams in zip(ALPHABET[:YARNS], (160, 90, 90, 90, 40), strict=True)
    )
    return knit_along


def fill(knit_along: KnitAlong, palettes: int) -> None:
    rng = np.random.default_rng(5)
    styles = list(DyeStyle)
    for numbers in batched(range(palettes), BATCH):
        users = User.objects.bulk_create(
            User(email=f"{knit_along.slug}{n}@knitters.example", name=f"Knitter {n}")
            for n in numbers
        )
        people = Participant.objects.bulk_create(
            Participant(user=user, knit_along=knit_along) for user in users
        )
        owned = Palette.objects.bulk_create(Palette(participant=person) for person in people)
        registered = Registration.objects.bulk_create(
            Registration(
                palette=palette,
                knit_along=knit_along,
                number=1,
                mean_lightness=50,
                registered_at=NOW,
            )
            for palette in owned
        )
        RegisteredYarn.objects.bulk_create(
            RegisteredYarn(
                registration=registration,
                position=position,
                name=f"Yarn {position}",
                dye_style=styles[rng.integers(len(styles))],
                lab_l=lightness,
                lab_a=a,
                lab_b=b,
                family="blue",
                shade_word="blue",
                screen_hex="#000000",
                put_up_grams=50,
                put_up_metres=200,
                balls=(1, 2, 4)[rng.integers(3)],
            )
            for registration in registered
            for position, (lightness, a, b) in enumerate(
                zip(
                    rng.uniform(12, 94, YARNS).tolist(),
                    *rng.normal(0, 25, (2, YARNS)).tolist(),
                    strict=True,
                )
            )
        )
        LetterChoice.objects.bulk_create(
            LetterChoice(
                participant=person,
                registration=registration,
                order="".join(map(str, rng.permutation(YARNS))),
                chosen_at=NOW,
            )
            for person, registration in list(zip(people, registered, strict=True))[::KEEPS_ONE_IN]
        )


def one_by_one(knit_along: KnitAlong) -> float:
    """Return the seconds one palette takes alone, its rows fetched beforehand."""
    meetings = [one.as_meeting() for one in Meeting.objects.in_newest_revisions(knit_along)]
    registrations = Registration.objects.filter(knit_along=knit_along)
    some = list(registrations.prefetch_related("yarns")[:ONE_BY_ONE])
    fabric, needs = fabric_of(knit_along), needs_of(knit_along)
    start = time.perf_counter()
    for registration in some:
        swatches = [yarn.swatch() for yarn in registration.chosen]
        best = plan_letters(swatches, meetings, fabric=fabric, needs=needs).best
        assess(swatches, meetings, best.yarns, fabric)
    return (time.perf_counter() - start) / len(some)


def time_crowd(knit_along: KnitAlong, palettes: int) -> None:
    start = time.perf_counter()
    read_crowd(knit_along, with_amounts=True)
    reading = time.perf_counter() - start
    start, cpu = time.perf_counter(), time.process_time()
    run = dry_run(knit_along, now=NOW)
    took, cpu = time.perf_counter() - start, time.process_time() - cpu
    assert run.tried == palettes
    alone = one_by_one(knit_along)
    print(f"{palettes:,} palettes, all clues: {took:.2f} s ({cpu:.2f} s of processor here),")
    print(f"  of which reading them {reading:.2f} s; {run.chosen:,} go by letters of their own")
    print(f"  {run.unread.mean():.1%} do not read everything")
    ratio = alone * palettes / took
    print(f"  one by one, rows given: {alone * 1000:.2f} ms each; {ratio:.0f} times slower")


def time_page(knit_along: KnitAlong, palettes: int) -> None:
    host = User.objects.create_user("hana@knitters.example", name="Hana")
    Participant.objects.create(user=host, knit_along=knit_along, role=Role.ORGANISER)
    client = Client()
    client.force_login(host)
    for name in ("", "3/", "notes/"):
        address = f"/k/{knit_along.slug}/desk/dry-run/{name}"
        client.get(address)
        start, cpu = time.perf_counter(), time.process_time()
        assert client.get(address).status_code == 200
        took, cpu = time.perf_counter() - start, time.process_time() - cpu
        page = f"page {name or 'of all clues'} for {palettes:,} palettes"
        print(f"{page}: {took:.2f} s ({cpu:.2f} s of processor here)")


def main(arguments: list[str]) -> None:
    palettes = int(arguments[0]) if arguments else PALETTES
    with own_database(), override_settings(ALLOWED_HOSTS=["testserver"]):
        large, page = make_knit_along("large"), make_knit_along("page")
        fill(page, min(ON_A_PAGE, palettes))
        time_page(page, min(ON_A_PAGE, palettes))
        fill(large, palettes)
        time_crowd(large, palettes)


if __name__ == "__main__":
    main(sys.argv[1:])
