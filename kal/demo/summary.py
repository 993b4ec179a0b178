"""What the demo holds, for those who start it."""

from datetime import datetime
from typing import Any

from django.conf import settings
from django.urls import reverse

from kal.demo.people import DYER, MODERATOR, NEWCOMER, TEST_KNITTER, host
from kal.models import KnitAlong, Participant
from palettes.models import Registration

SIGN_INS = (
    (host("UTC").email, "hosts all three knit-alongs"),
    (NEWCOMER.email, "knits along in all three"),
    (TEST_KNITTER.email, "knits the test piece and reads clues early"),
    (MODERATOR.email, "moderates, and may not read early"),
    (DYER.email, "is a dyer who puts kits together"),
)


def summary(now: datetime) -> dict[str, Any]:
    """Return what is stored and how to look at it, as plain values fit for JSON."""
    return {
        "knit_alongs": [about(knit_along, now) for knit_along in KnitAlong.objects.all()],
        "people": Participant.objects.values("user").distinct().count(),
        "registered_palettes": Registration.objects.filter(is_current=True).count(),
        "sign_ins": [{"email": email, "who": who} for email, who in SIGN_INS],
        "mail_page": settings.BASE_URL + reverse("kal:demo_mail"),
    }


def about(knit_along: KnitAlong, now: datetime) -> dict[str, Any]:
    coming = knit_along.clues.filter(release_at__gt=now, ready_at__isnull=False).first()
    return {
        "title": knit_along.title,
        "slug": knit_along.slug,
        "zone": knit_along.zone,
        "stage": stage(knit_along, now),
        "coming_clue": coming.number if coming else None,
        "coming_at": coming.release_at.isoformat() if coming else None,
    }


def stage(knit_along: KnitAlong, now: datetime) -> str:
    """Return 'preparing', 'running' or 'finished'."""
    if now < knit_along.cast_on_at:
        return "preparing"
    return "running" if knit_along.clues.filter(release_at__gt=now).exists() else "finished"


def in_words(facts: dict[str, Any], now: datetime) -> str:
    """Return the summary as a few lines for the terminal."""
    lines = [
        f"The demo: {facts['people']} people and {facts['registered_palettes']} registered "
        "palettes in three knit-alongs.",
        *(f"  {line_about(knit_along, now)}" for knit_along in facts["knit_alongs"]),
        "",
        "Sign in with one of these addresses; the code comes by mail:",
        *(f"  {sign_in['email']:<28} {sign_in['who']}" for sign_in in facts["sign_ins"]),
        f"The demo's mail is printed here and kept on {facts['mail_page']}",
    ]
    return "\n".join(lines)


def line_about(knit_along: dict[str, Any], now: datetime) -> str:
    line = f"{knit_along['title']} ({knit_along['stage']}, {knit_along['zone']})"
    if knit_along["coming_at"] is None:
        return line
    minutes = (datetime.fromisoformat(knit_along["coming_at"]) - now).total_seconds() / 60
    return f"{line}: clue {knit_along['coming_clue']} goes out {in_time(minutes)}"


def in_time(minutes: float) -> str:
    """Return 'in 4 minutes', or in hours or days where those say more."""
    for length, word in ((24 * 60, "days"), (60, "hours")):
        if minutes >= 2 * length:
            return f"in {minutes // length:.0f} {word}"
    return f"in {minutes:.0f} minutes" if round(minutes) != 1 else "in a minute"
