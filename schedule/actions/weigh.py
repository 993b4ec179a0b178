"""A participant's weigh-ins and how they knit; the reserve that an organiser names."""

from collections.abc import Mapping
from datetime import datetime
from decimal import Decimal

from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from kal.models import AuditEntry, KnitAlong, Participant, User
from palettes.colour.amounts import scale_words
from palettes.translator import READERS_LANGUAGE
from schedule.errors import WeighInRefused
from schedule.models import OwnKnitting, WeighIn, YarnReserve
from schedule.pattern.errors import BadWeighIn, MoreLeftThanBefore, MoreLeftThanBought
from schedule.pattern.weigh_in import read_weigh_ins
from schedule.weighing import as_read
from schedule.yarn_plan import YarnPlan, plan_for


@transaction.atomic
def keep_weigh_in(weigh_in: WeighIn, *, imperial: bool, now: datetime) -> WeighIn:
    """Store a new or corrected weigh-in; WeighInRefused if the letter's weigh-ins contradict it.

    The participant's row is locked, so that two of them at once are checked one after the other.
    """
    participant = Participant.objects.select_for_update(of=("self",)).get(
        pk=weigh_in.participant_id
    )
    if weigh_in.pk is None:
        weigh_in.at = now
    others = WeighIn.objects.filter(participant=participant, letter=weigh_in.letter)
    rows = [*others.exclude(pk=weigh_in.pk), weigh_in]
    rows.sort(key=lambda each: (each.at, each.pk or float("inf")))
    _check(plan_for(participant, now), rows, weigh_in, imperial=imperial)
    weigh_in.save()
    return weigh_in


def _check(plan: YarnPlan, rows: list[WeighIn], meant: WeighIn, *, imperial: bool) -> None:
    letter = meant.letter
    read = [each for each in (as_read(plan, row) for row in rows) if each is not None]
    total = plan.totals[letter].grams
    left, bought = (_as_shown(grams, imperial) for grams in (meant.left, meant.bought))
    try:
        read_weigh_ins(read, {letter: total}, {})
    except MoreLeftThanBought:
        raise WeighInRefused(
            "left",
            _(
                "%(left)s of %(letter)s left is more than the %(bought)s you had in all. Look at "
                "the scale again, or put in all you ever had of this colour."
            )
            % {"left": left, "letter": letter, "bought": bought},
        ) from None
    except MoreLeftThanBefore:
        raise WeighInRefused(
            "left",
            _(
                "%(left)s of %(letter)s left does not go with your other weigh-ins of it "
                "(%(others)s left): yarn does not grow. Look at the scale again, or if you bought "
                "more, put in all you ever had of this colour."
            )
            % {"left": left, "letter": letter, "others": _others(rows, meant, imperial)},
        ) from None
    except BadWeighIn as refused:
        raise WeighInRefused("left", refused.words(READERS_LANGUAGE, imperial=imperial)) from None


def _others(rows: list[WeighIn], meant: WeighIn, imperial: bool) -> str:
    grams = [row.left for row in rows if row is not meant][-3:]
    return ", ".join(_as_shown(each, imperial) for each in grams)


def _as_shown(grams: Decimal, imperial: bool) -> str:
    return scale_words(grams, READERS_LANGUAGE, imperial=imperial)


@transaction.atomic
def delete_weigh_in(weigh_in: WeighIn) -> None:
    """Forget one weigh-in."""
    weigh_in.delete()


def keep_own_knitting(
    participant: Participant, values: Mapping[str, Decimal | float | None]
) -> None:
    """Keep how the participant knits: some of the fields of `OwnKnitting`."""
    OwnKnitting.objects.update_or_create(participant=participant, defaults=dict(values))


@transaction.atomic
def set_reserve(knit_along: KnitAlong, percent: int, *, by: User, now: datetime) -> None:
    """Say how many per cent of the grams that are asked for are reserve."""
    before = YarnReserve.objects.filter(knit_along=knit_along).first()
    YarnReserve.objects.update_or_create(knit_along=knit_along, defaults={"percent": percent})
    AuditEntry.objects.record(
        knit_along,
        gettext_noop("named the yarn reserve"),
        by=by,
        at=now,
        before=f"{before.percent} %" if before else "",
        after=f"{percent} %",
    )
