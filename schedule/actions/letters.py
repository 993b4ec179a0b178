"""The letter plan's opening, and the letters a participant chooses instead of the plan's."""

from collections.abc import Sequence
from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from kal.models import AuditEntry, KnitAlong, Participant, User
from palettes.models import Palette, Registration
from schedule.errors import LettersRefused
from schedule.models import LetterChoice, PlanOpening
from schedule.visibility import is_plan_open


@transaction.atomic
def open_plan(knit_along: KnitAlong, *, at: datetime, by: User, now: datetime) -> PlanOpening:
    """Let participants see the letter plan from the instant `at` on."""
    opening, _is_new = PlanOpening.objects.update_or_create(
        knit_along=knit_along, defaults={"opens_at": at}
    )
    AuditEntry.objects.record(
        knit_along,
        gettext_noop("opened the letter plan"),
        by=by,
        at=now,
        from_instant=f"{at:%Y-%m-%d %H:%M} UTC",
    )
    return opening


@transaction.atomic
def close_plan(knit_along: KnitAlong, *, by: User, now: datetime) -> bool:
    """Show the letter plan to nobody; False when it was closed. What people chose is kept."""
    deleted, _rows = PlanOpening.objects.filter(knit_along=knit_along).delete()
    if deleted:
        AuditEntry.objects.record(knit_along, gettext_noop("closed the letter plan"), by=by, at=now)
    return bool(deleted)


@transaction.atomic
def choose_letters(participant: Participant, order: Sequence[int], *, now: datetime) -> None:
    """Keep these positions in the registered palette as A, B, C …; LettersRefused if that is none.

    The palette's row is locked, so the choice is for the registration there is.
    """
    palette = Palette.objects.select_for_update().filter(participant=participant).first()
    registration = palette.registration if palette else None
    if registration is None:
        raise LettersRefused(_("Register your palette first; letters are kept for what is there."))
    if not is_plan_open(participant.knit_along, now):
        raise LettersRefused(_("The organiser has not opened the letter plan yet."))
    _check(registration, order, len(participant.knit_along.letters))
    LetterChoice.objects.update_or_create(
        participant=participant,
        defaults={
            "registration": registration,
            "order": "".join(map(str, order)),
            "chosen_at": now,
        },
    )


def _check(registration: Registration, order: Sequence[int], letters: int) -> None:
    there = range(len(registration.chosen))
    if len(order) != letters or len(set(order)) != letters or not set(order) <= set(there):
        raise LettersRefused(
            _("Your palette has changed since this page was made; look at it again, then choose.")
        )


def reset_letters(participant: Participant) -> bool:
    """Forget the participant's own choice, so that the plan counts; False if there was none."""
    deleted, _rows = LetterChoice.objects.filter(participant=participant).delete()
    return bool(deleted)
