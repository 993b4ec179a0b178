"""Creating and changing a knit-along, and closing its palettes; each act logged."""

from collections.abc import Mapping
from datetime import datetime
from decimal import Decimal

from django.db import transaction
from django.utils.text import slugify
from django.utils.translation import gettext_noop

from kal.models import AuditEntry, KnitAlong, LetterNeed, Participant, Role, User

type Needs = Mapping[str, tuple[Decimal, Decimal]]  # letter -> grams, metres


@transaction.atomic
def create_knit_along(
    knit_along: KnitAlong, needs: Needs, *, by: User, now: datetime
) -> Participant:
    """Store a knit-along that was filled in, and return its creator's membership as organiser."""
    knit_along.slug = free_slug(knit_along.title)
    knit_along.save()
    set_needs(knit_along, needs)
    AuditEntry.objects.record(knit_along, gettext_noop("created the knit-along"), by=by, at=now)
    return Participant.objects.create(user=by, knit_along=knit_along, role=Role.ORGANISER)


def free_slug(title: str) -> str:
    """Return the title as an address part nobody has, numbered from 2 where it is taken."""
    stem = slugify(title)[:50].strip("-") or "knit-along"
    taken = set(KnitAlong.objects.filter(slug__startswith=stem).values_list("slug", flat=True))
    number = 1
    while (slug := stem if number == 1 else f"{stem}-{number}") in taken:
        number += 1
    return slug


@transaction.atomic
def change_knit_along(
    knit_along: KnitAlong, needs: Needs, changed: list[str], *, by: User, now: datetime
) -> None:
    """Store what an organiser changed; `changed` names the fields for the log."""
    knit_along.save()
    set_needs(knit_along, needs)
    if changed:
        AuditEntry.objects.record(
            knit_along,
            gettext_noop("changed the knit-along"),
            by=by,
            at=now,
            fields=", ".join(changed),
        )


def set_needs(knit_along: KnitAlong, needs: Needs) -> None:
    knit_along.needs.exclude(letter__in=needs).delete()
    for letter, (grams, metres) in needs.items():
        LetterNeed.objects.update_or_create(
            knit_along=knit_along,
            letter=letter,
            defaults={"grams": grams, "metres": metres},
        )


@transaction.atomic
def close_palettes(knit_along: KnitAlong, *, by: User, now: datetime) -> bool:
    """Let no palette be changed from `now` on; False if they were closed before."""
    if not KnitAlong.objects.filter(pk=knit_along.pk, palettes_closed_at=None).update(
        palettes_closed_at=now
    ):
        return False
    AuditEntry.objects.record(knit_along, gettext_noop("closed the palettes"), by=by, at=now)
    return True


@transaction.atomic
def open_palettes(knit_along: KnitAlong, *, by: User, now: datetime) -> bool:
    """Let palettes be changed again; False if they were open."""
    closed = KnitAlong.objects.filter(pk=knit_along.pk, palettes_closed_at__isnull=False)
    if not closed.update(palettes_closed_at=None):
        return False
    AuditEntry.objects.record(knit_along, gettext_noop("opened the palettes"), by=by, at=now)
    return True
