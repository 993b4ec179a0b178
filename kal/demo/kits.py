"""A dyer and a shop propose kits, and the organiser hands out a batch of codes."""

import random
from datetime import timedelta

from kal.actions.batches import make_batch
from kal.demo.events import Event
from kal.demo.joining import as_row
from kal.demo.palettes import Recipe, neighbours, opposites
from kal.demo.people import DOMAIN, DYER
from kal.demo.yarns import with_enough, with_names
from kal.models import KnitAlong, User
from palettes.kit_actions import approve, invite_maker, propose, save_kit, save_yarn
from palettes.models import Kit, KitYarn
from palettes.models.yarn_facts import FACT_NAMES

SHOP = f"counter@{DOMAIN}"
DICE = 7  # any number would do; with it the kits are always the same
BATCH = 24
AFTER_OPENING = timedelta(hours=6)


def offer_kits(event: Event, knit_along: KnitAlong, host: User) -> None:
    """Let a dyer's kit be approved, and leave one of a shop waiting for the organiser."""
    dice, now = random.Random(DICE), event.sign_up_opens + AFTER_OPENING
    dyer = invite_maker(
        knit_along, email=DYER.email, name="The dye shed at Low Lane", by=host, now=now
    )
    shop = invite_maker(knit_along, email=SHOP, name="The wool counter", by=host, now=now)
    first = Kit(
        maker=dyer,
        title="Low tide",
        description="Dyed in small lots; no two are quite alike.",
        link="https://low-lane.example/low-tide",
        stock="Eleven left, then dyed to order in three weeks.",
    )
    fill(first, neighbours, event, dice)
    second = Kit(maker=shop, title="Market day", stock="Plenty, and single skeins of each.")
    fill(second, opposites, event, dice)
    approve(first, by=host, now=now)


def fill(kit: Kit, recipe: Recipe, event: Event, dice: random.Random) -> None:
    """Store a kit with enough yarn for each letter, and propose it."""
    now = event.sign_up_opens + AFTER_OPENING
    save_kit(kit, now=now)
    needs = event.grams.values()
    for yarn, grams in zip(with_names(recipe(dice, len(needs))), needs, strict=True):
        row = as_row(with_enough(yarn, grams))
        save_yarn(KitYarn(kit=kit, **{name: getattr(row, name) for name in FACT_NAMES}))
    propose(kit, now=now)


def hand_out_batch(event: Event, knit_along: KnitAlong, host: User) -> None:
    """Make codes to lay into parcels, where codes are asked for."""
    if knit_along.join_rule != KnitAlong.JoinRule.CODE:
        return
    now = event.sign_up_opens
    make_batch(knit_along, label="first parcels", count=BATCH, expires_at=None, by=host, now=now)
