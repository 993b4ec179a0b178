"""Adopting a kit: its yarns become the chosen ones, and nothing that was there is lost."""

from collections.abc import Sequence
from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _

from kal.models import Participant
from palettes.actions import MAX_YARNS, lock
from palettes.choosing import Choice, choose_set
from palettes.errors import KitRefused, TooManyCandidates
from palettes.models import Kit, KitYarn, Palette, Yarn
from palettes.models.yarn_facts import FACT_NAMES


@transaction.atomic
def adopt_kit(kit: Kit, participant: Participant, *, now: datetime) -> Choice:
    """Copy the kit's yarns into the participant's palette, chosen in their order.

    Returns what was chosen before; that becomes candidates, and spares stay spares. A yarn that
    is there already, unchanged, is chosen rather than copied again. Raises KitRefused when the
    kit is no longer shown, TooManyCandidates, or PaletteClosed.
    """
    palette, _is_new = Palette.objects.get_or_create(participant=participant)
    lock(palette, now=now)
    # Taken until the end, so that what is copied is what was approved.
    shown = Kit.objects.shown_in(participant.knit_along).select_for_update(of=("self",))
    if not shown.filter(pk=kit.pk).exists():
        raise KitRefused(_("This kit is no longer offered; choose another."))
    wanted = _rows_for(list(kit.yarns.all()), palette)
    new = [yarn for yarn in wanted if yarn.pk is None]
    if palette.yarns.count() + len(new) > MAX_YARNS:
        raise TooManyCandidates(
            _(
                "A palette holds %(most)d yarns at most, and the kit brings %(count)d; "
                "remove some that you will not use first."
            )
            % {"most": MAX_YARNS, "count": len(new)}
        )
    for yarn in new:
        yarn.save()
    palette.kit = kit
    palette.save(update_fields=["kit", "updated_at"])
    return choose_set(palette, [yarn.pk for yarn in wanted], now=now)


def _rows_for(kit_yarns: Sequence[KitYarn], palette: Palette) -> list[Yarn]:
    """Return a yarn of the palette for each of the kit's, those that are not there yet unsaved."""
    there = list(palette.yarns.all())
    rows = []
    for kit_yarn in kit_yarns:
        same = next((yarn for yarn in there if yarn.facts() == kit_yarn.facts()), None)
        if same:
            there.remove(same)
        facts = dict(zip(FACT_NAMES, kit_yarn.facts(), strict=True))
        rows.append(same or Yarn(palette=palette, **facts))
    return rows
