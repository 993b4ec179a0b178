"""Time pages of a gallery of 100,000 palettes, as ratios to the smallest page behind a sign-in.

    python -m benchmarks.gallery_page [palettes] [--explain] [--keep NAME]

Runs on the database server of KAL_DATABASE_URL, in a database of its own that is removed again,
on SQLite a file. Filling it with 100,000 palettes takes minutes: `--keep` leaves it under this
name, on SQLite a path, and uses what an earlier run left there. The yardstick is a view that needs
a signed-in person and answers one word, through the same middleware. Palettes are random colours,
made up for this.
"""

import argparse
import sys
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import NamedTuple

import benchmarks.site  # noqa: F401  sets Django up before its models are imported

# isort: split
import numpy as np
from django.contrib.auth.decorators import login_required
from django.db import connection, transaction
from django.http import HttpRequest, HttpResponse, QueryDict
from django.test import Client
from django.test.utils import override_settings
from django.urls import path, reverse

from benchmarks.own_database import own_database
from kal.models import KnitAlong, Participant, User
from kal.urls import urlpatterns as site_urlpatterns
from palettes.colour.facets import DYE_STYLES, read_facets, starts_of
from palettes.colour.families import FAMILIES, name_two_families
from palettes.colour.pair_matrix import PairsLeft, many_pairs_left
from palettes.colour.spaces import lab_to_srgb
from palettes.colour.swatch import Fabric
from palettes.gallery import read_page
from palettes.gallery_form import GalleryFilterForm
from palettes.models import GalleryEntry, Kit, KitMaker, Palette, RegisteredYarn, Registration
from palettes.models.gallery import in_index_order
from palettes.models.registration import run_of
from palettes.wanted import Wanted

PALETTES = 100_000
YARNS = 5
BATCH = 2_000
LATE_PAGE = 200
# Common, rare and impossible answers, one by one and together. A word begins a name: "gull" is in
# a fifth of the palettes, "977" is in none.
QUERIES = (
    "",
    "family=teal",
    "family=teal&family=red&family=yellow&match=all",
    "family=purple&share=half",
    "family=yellow&share=all",
    "run=dark",
    "reach=narrow",
    "darkest=40&lightest=80",
    "worst=strong",
    "worst=workable&mean=strong",
    "scheme=monochromatic",
    "fibre=silk&dye=speckled",
    "words=gull",
    "words=gull+976",
    "words=nothing",
    "run=light&family=yellow&scheme=analogous&fibre=plant&dye=tonal&reach=narrow",
    "run=dark&darkest=70",
    "run=dark&darkest=70&words=gull",
    "words=gull&family=yellow&share=all",
    "kit=1",
    f"kit=1&words={'+'.join('abcdefgh')}",
    f"words={'+'.join('gshmetqlrfkd')}",
)
NAMES = [
    "Gull",
    "Slate",
    "Heath",
    "Moss",
    "Ember",
    "Tide",
    "Quay",
    "Lamp",
    "Rope",
    "Sail",
    "Fog",
    "Rain",
    "Kelp",
    "Flint",
    "Rust",
    "Dusk",
]
FIBRES = ("75% wool, 25% nylon", "merino", "70% alpaca, 30% silk", "linen", "cotton", "")
ROUNDS = 15
NOW = datetime(2027, 3, 1, 12, tzinfo=UTC)


@login_required
def smallest(request: HttpRequest) -> HttpResponse:
    return HttpResponse("yes")


urlpatterns = [path("smallest/", smallest), *site_urlpatterns]


def fill(palettes: int) -> tuple[KnitAlong, User]:
    """Store a knit-along with so many registered palettes, and return it and one of its people."""
    knit_along = KnitAlong.objects.create(
        slug="large",
        title="Large",
        zone="UTC",
        sign_up_opens_at=NOW,
        sign_up_closes_at=NOW.replace(year=2028),
        cast_on_at=NOW,
    )
    maker = KitMaker.objects.create(
        knit_along=knit_along, email="maker@knitters.example", name="Maker", invited_at=NOW
    )
    kit = Kit.objects.create(maker=maker, title="Kit", state=Kit.State.APPROVED)
    dice = np.random.default_rng(1)
    for start in range(0, palettes, BATCH):
        fill_batch(knit_along, kit, range(start, min(start + BATCH, palettes)), dice)
    return knit_along, User.objects.earliest("pk")


@transaction.atomic
def fill_batch(knit_along: KnitAlong, kit: Kit, numbers: range, dice: np.random.Generator) -> None:
    count = len(numbers)
    users = User.objects.bulk_create(
        User(email=f"k{n}@knitters.example", name=f"Knitter {n}") for n in numbers
    )
    participants = Participant.objects.bulk_create(
        # One in six keeps their palette to themselves.
        Participant(user=user, knit_along=knit_along, shows_palette=n % 6 > 0)
        for n, user in enumerate(users)
    )
    palettes = Palette.objects.bulk_create(Palette(participant=one) for one in participants)
    labs = dice.normal((52, 0, 0), (20, 28, 28), (count, YARNS, 3))
    labs[..., 0] = np.clip(labs[..., 0], 5, 97)
    registrations = Registration.objects.bulk_create(
        Registration(
            palette=palette,
            knit_along=knit_along,
            number=1,
            mean_lightness=float(labs[n, :, 0].mean()),
            registered_at=NOW,
            # One in fifty has the kit.
            kit=None if n % 50 else kit,
        )
        for n, palette in enumerate(palettes)
    )
    yarns = list(name_yarns(registrations, labs, dice))
    RegisteredYarn.objects.bulk_create(yarns)
    left = many_pairs_left(labs, np.zeros((count, YARNS)), Fabric())
    GalleryEntry.objects.bulk_create(index(registrations, participants, yarns, left))


def name_yarns(
    registrations: list[Registration], labs: np.ndarray, dice: np.random.Generator
) -> Iterator[RegisteredYarn]:
    fibres = dice.choice(FIBRES, (len(registrations), YARNS)).tolist()
    styles = dice.choice(DYE_STYLES, (len(registrations), YARNS)).tolist()
    names = dice.choice(NAMES, (len(registrations), YARNS, 2)).tolist()
    own, second = (
        part.reshape(len(registrations), YARNS) for part in name_two_families(labs.reshape(-1, 3))
    )
    levels = np.rint(np.clip(lab_to_srgb(labs), 0, 1) * 255).astype(int)
    for n, registration in enumerate(registrations):
        for position in range(YARNS):
            light, a, b = labs[n, position].tolist()
            near = int(second[n, position])
            red, green, blue = levels[n, position].tolist()
            family = FAMILIES[int(own[n, position])]
            yield RegisteredYarn(
                registration=registration,
                position=position,
                name=f"{' '.join(names[n][position])} {n % 977}",
                fibre=fibres[n][position],
                dye_style=styles[n][position],
                lab_l=light,
                lab_a=a,
                lab_b=b,
                family=family,
                second_family=FAMILIES[near] if near >= 0 else "",
                shade_word="grey" if family == "neutral" else family,
                screen_hex=f"#{red:02x}{green:02x}{blue:02x}",
            )


def index(
    registrations: list[Registration],
    participants: list[Participant],
    yarns: list[RegisteredYarn],
    left: PairsLeft,
) -> Iterator[GalleryEntry]:
    for n, (registration, participant) in enumerate(zip(registrations, participants, strict=True)):
        own = yarns[n * YARNS : (n + 1) * YARNS]
        facets = read_facets(
            [yarn.swatch() for yarn in own],
            [yarn.family_names for yarn in own],
            PairsLeft(left.at_arm[n], left.throughout[n]),
        )
        yield GalleryEntry(
            registration=registration,
            knit_along=registration.knit_along,
            participant=participant,
            run=run_of(registration.mean_lightness),
            kit_id=registration.kit_id,
            starts=starts_of(facets.words),
            **facets._asdict(),
        )


def late_cursor(knit_along: KnitAlong, wanted: Wanted) -> tuple[int, str]:
    """Return the number of page 200, or of the last when there are fewer, and its cursor."""
    number, cursor = 1, ""
    while number < LATE_PAGE:
        older = read_page(knit_along, wanted, cursor=cursor).older
        if not older:
            break
        number, cursor = number + 1, older
    return number, cursor


class Taken(NamedTuple):
    """Milliseconds of one piece of work."""

    elapsed: float
    processor: float
    """Of ours and of the database server's."""


def least(works: dict[str, Callable[[], object]]) -> dict[str, Taken]:
    """Return the least that each work took, all of them done in turn.

    The least rather than the median: whatever else the machine does only adds.
    """
    times: dict[str, list[Taken]] = {name: [] for name in works}
    for _ in range(ROUNDS):
        for name, work in works.items():
            times[name].append(timed(work))
    return {
        name: Taken(*(min(column) for column in zip(*taken, strict=True)))
        for name, taken in times.items()
    }


def timed(work: Callable[[], object]) -> Taken:
    server, processor, start = server_seconds(), time.process_time(), time.perf_counter()
    work()
    elapsed, processor = time.perf_counter() - start, time.process_time() - processor
    return Taken(elapsed * 1000, (processor + server_seconds() - server) * 1000)


def server_seconds() -> float:
    """Return the processor time of the database server for us, where it can be read here.

    PostgreSQL answers each connection by a process of its own; SQLite has none beside ours.
    """
    if connection.vendor != "postgresql":
        return 0.0
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_backend_pid()")
        (server,) = cursor.fetchone()
    schedule = Path(f"/proc/{server}/schedstat")
    return int(schedule.read_text().split()[0]) / 1e9 if schedule.exists() else 0.0


def wanted_by(query: str) -> Wanted:
    form = GalleryFilterForm(QueryDict(query), kits=Kit.objects.all())
    assert not form.first_error, (query, form.first_error)
    return form.wanted


def getter(client: Client, url: str) -> Callable[[], object]:
    def get() -> object:
        response = client.get(url)
        assert response.status_code == 200, (url, response.status_code)
        return response

    return get


def pages(client: Client, knit_along: KnitAlong) -> dict[str, Callable[[], object]]:
    works = {"smallest page": getter(client, "/smallest/")}
    gallery = reverse("palettes:gallery", args=[knit_along.slug])
    for query in QUERIES:
        wanted = wanted_by(query)
        number, cursor = late_cursor(knit_along, wanted)
        works[f"{query or 'everything'}, page 1"] = getter(client, f"{gallery}?{query}")
        if cursor:
            address = f"{gallery}?{query}{'&' if query else ''}after={cursor}"
            works[f"{query or 'everything'}, page {number}"] = getter(client, address)
    return works


def explain(knit_along: KnitAlong) -> None:
    """Print how the database finds a page in the middle."""
    middle = Registration.objects.order_by("pk")[Registration.objects.count() // 2].pk
    for query in QUERIES:
        wanted = wanted_by(query)
        keys = (
            wanted.among(GalleryEntry.objects.shown_in(knit_along))
            .filter(registration_id__lt=middle)
            .order_by("-registration_id")
            .values_list("registration_id")[:25]
        )
        with in_index_order():
            print(query or "everything", keys.explain(), sep="\n")


def ready(palettes: int) -> tuple[KnitAlong, User]:
    """Return the knit-along and one of its people, filled anew unless it was kept."""
    kept = KnitAlong.objects.filter(slug="large").first()
    if kept is None:
        knit_along, reader = fill(palettes)
        with connection.cursor() as cursor:
            # As a site's database does by itself sooner or later.
            cursor.execute("VACUUM ANALYZE" if connection.vendor == "postgresql" else "ANALYZE")
        return knit_along, reader
    there = GalleryEntry.objects.count()
    if there != palettes:
        raise SystemExit(f"That database was kept with {there} palettes, not {palettes}.")
    return kept, User.objects.earliest("pk")


def main(arguments: list[str]) -> None:
    parser = argparse.ArgumentParser(prog="python -m benchmarks.gallery_page")
    parser.add_argument("palettes", nargs="?", type=int, default=PALETTES)
    parser.add_argument("--explain", action="store_true", help="print the database's plans too")
    parser.add_argument("--keep", default="", metavar="NAME", help="keep the database, or reuse it")
    asked = parser.parse_args(arguments)
    with (
        own_database(asked.keep),
        override_settings(ROOT_URLCONF="benchmarks.gallery_page", ALLOWED_HOSTS=["testserver"]),
    ):
        knit_along, reader = ready(asked.palettes)
        client = Client()
        client.force_login(reader)
        if asked.explain:
            explain(knit_along)
        taken = least(pages(client, knit_along))
    yardstick = taken["smallest page"].processor
    print(
        f"{asked.palettes} palettes on {connection.vendor}: elapsed, processor, times the smallest"
    )
    for name, (elapsed, processor) in taken.items():
        print(f"{name:84}{elapsed:8.1f} ms{processor:8.1f} ms{processor / yardstick:7.1f}")


if __name__ == "__main__":
    main(sys.argv[1:])
