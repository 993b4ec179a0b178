"""Adopting a kit: what is chosen, what is kept, and what is remembered of it."""

from decimal import Decimal

import pytest

from kal.models import Participant
from palettes.actions import MAX_YARNS, place_yarn, register_palette
from palettes.adopting import adopt_kit
from palettes.errors import KitRefused, PaletteClosed, TooManyCandidates
from palettes.kit_actions import decline, take_back, withdraw_maker
from palettes.models import GalleryEntry, Kit, Yarn
from tests.builders import NOON, make_kit, make_knit_along, make_registration, make_yarn

NAMES = ["Kit 20", "Kit 40", "Kit 60", "Kit 75", "Kit 92"]


@pytest.fixture
def kit_of_shop(knit_along) -> Kit:
    return make_kit(knit_along, state=Kit.State.APPROVED)


def names(participant: Participant, place: str) -> list[str]:
    return [yarn.name for yarn in participant.palette.yarns.filter(place=place)]


def test_its_yarns_are_chosen_in_their_order_with_all_that_is_known_of_them(kit, kit_of_shop):
    adopt_kit(kit_of_shop, kit, now=NOON)
    assert names(kit, Yarn.Place.CHOSEN) == NAMES
    yarns = kit.palette.yarns.all()
    assert [yarn.facts() for yarn in yarns] == [yarn.facts() for yarn in kit_of_shop.yarns.all()]
    assert kit.palette.kit == kit_of_shop


def test_what_was_chosen_becomes_candidates_spares_stay_and_nothing_is_lost(kit, kit_of_shop):
    make_registration(kit, (10, 30, 50, 70, 90, 55), spares=1)
    before = {(yarn.pk, yarn.name) for yarn in kit.palette.yarns.all()}
    adopt_kit(kit_of_shop, kit, now=NOON)
    assert names(kit, Yarn.Place.CHOSEN) == NAMES
    assert names(kit, Yarn.Place.SPARE) == ["Grey 55"]
    assert names(kit, Yarn.Place.CANDIDATE) == [f"Grey {n}" for n in (10, 30, 50, 70, 90)]
    assert before < {(yarn.pk, yarn.name) for yarn in kit.palette.yarns.all()}
    current = kit.palette.registration
    assert current is not None
    assert [yarn.name for yarn in current.chosen] == [f"Grey {n}" for n in (10, 30, 50, 70, 90)]


def test_adopting_twice_copies_once_and_a_changed_yarn_is_not_taken_for_the_kits(kit, kit_of_shop):
    for _ in range(2):
        adopt_kit(kit_of_shop, kit, now=NOON)
    assert kit.palette.yarns.count() == 5
    kit.palette.yarns.filter(name="Kit 20").update(balls=Decimal(7))
    adopt_kit(kit_of_shop, kit, now=NOON)
    assert kit.palette.yarns.count() == 6
    assert names(kit, Yarn.Place.CHOSEN) == NAMES
    assert names(kit, Yarn.Place.CANDIDATE) == ["Kit 20"]


def test_the_kit_is_remembered_until_none_of_its_yarns_is_chosen(kit, kit_of_shop):
    adopt_kit(kit_of_shop, kit, now=NOON)
    registration, _ = register_palette(kit.palette, now=NOON)
    assert registration.kit == kit_of_shop
    entries = GalleryEntry.objects.filter(registration=registration)
    assert {entry.kit_id for entry in entries} == {kit_of_shop.pk}
    for yarn in kit.palette.yarns.chosen()[:4]:
        place_yarn(yarn, Yarn.Place.CANDIDATE, now=NOON)
        make_yarn(kit.palette, place=Yarn.Place.CHOSEN, position=9)
    registration, _ = register_palette(kit.palette, now=NOON)
    assert registration.kit == kit_of_shop
    place_yarn(kit.palette.yarns.chosen()[0], Yarn.Place.CANDIDATE, now=NOON)
    make_yarn(kit.palette, place=Yarn.Place.CHOSEN, position=9)
    registration, _ = register_palette(kit.palette, now=NOON)
    assert registration.kit is None


def test_a_palette_without_room_is_left_as_it_was(kit, kit_of_shop):
    make_registration(kit)
    for _ in range(MAX_YARNS - 9):
        make_yarn(kit.palette)
    with pytest.raises(TooManyCandidates, match="holds 40 yarns at most, and the kit brings 5"):
        adopt_kit(kit_of_shop, kit, now=NOON)
    assert kit.palette.yarns.count() == MAX_YARNS - 4
    assert [name[:4] for name in names(kit, Yarn.Place.CHOSEN)] == ["Grey"] * 5
    kit.palette.refresh_from_db()
    assert kit.palette.kit is None


def test_a_kit_no_longer_shown_is_refused(knit_along, hana, kit, kit_of_shop):
    take_back(kit_of_shop)
    with pytest.raises(KitRefused, match="no longer offered"):
        adopt_kit(kit_of_shop, kit, now=NOON)
    other = make_kit(knit_along, state=Kit.State.APPROVED)
    decline(other, reason="Sold out.", by=hana.user, now=NOON)
    with pytest.raises(KitRefused):
        adopt_kit(other, kit, now=NOON)
    third = make_kit(knit_along, state=Kit.State.APPROVED)
    withdraw_maker(third.maker, by=hana.user, now=NOON)
    with pytest.raises(KitRefused):
        adopt_kit(third, kit, now=NOON)
    elsewhere = make_kit(make_knit_along(), state=Kit.State.APPROVED)
    with pytest.raises(KitRefused):
        adopt_kit(elsewhere, kit, now=NOON)
    assert not Yarn.objects.exists()


def test_closed_palettes_stay_closed(knit_along, kit, kit_of_shop):
    knit_along.palettes_closed_at = NOON
    knit_along.save()
    kit.refresh_from_db()
    with pytest.raises(PaletteClosed):
        adopt_kit(kit_of_shop, kit, now=NOON)
    assert not Yarn.objects.exists()
