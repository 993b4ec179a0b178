"""Registering: an unchanging copy, kept with its history, made once however often one clicks."""

import threading
from importlib import import_module

import pytest
from django.apps import apps
from django.db import connections
from django.urls import reverse
from django.utils import timezone

from palettes.actions import register_palette
from palettes.colour.facets import bits
from palettes.colour.families import FAMILIES, families_of
from palettes.colour.spaces import hex_to_lab
from palettes.models import GalleryEntry, Palette, Registration, Yarn
from tests.builders import make_palette, make_participant, make_yarn
from tests.conftest import signed_in


@pytest.fixture
def palette(kit) -> Palette:
    palette = make_palette(kit)
    for n in range(5):
        make_yarn(
            palette, name=f"Chosen {n}", place=Yarn.Place.CHOSEN, position=n, lab_l=20 + 15 * n
        )
    make_yarn(palette, name="Spare", place=Yarn.Place.SPARE)
    make_yarn(palette, name="Candidate")
    return palette


@pytest.fixture
def register(knit_along):
    return reverse("palettes:register", args=[knit_along.slug])


def page_of(client, knit_along, name="palette", *more):
    return client.get(reverse(f"palettes:{name}", args=[knit_along.slug, *more])).content.decode()


def test_copies_the_chosen_in_order_and_the_spares(as_kit, palette, register):
    assert as_kit.post(register).status_code == 302
    registration = palette.registration
    assert [yarn.name for yarn in registration.chosen] == [f"Chosen {n}" for n in range(5)]
    assert [yarn.name for yarn in registration.spares] == ["Spare"]
    assert registration.number == 1
    assert registration.mean_lightness == pytest.approx(50)


def test_names_the_families_of_every_yarn_nearest_first(as_kit, palette, register):
    as_kit.post(register)
    for yarn in palette.registration.yarns.all():
        assert yarn.family_names == list(families_of(yarn.lab))


@pytest.mark.parametrize(
    ("lacking", "sentence"),
    [
        (1, "Choose 1 more yarn to register: the pattern takes 5."),
        (3, "Choose 3 more yarns to register: the pattern takes 5."),
    ],
)
def test_says_in_one_sentence_what_is_missing(as_kit, palette, register, lacking, sentence):
    pks = palette.yarns.chosen().values_list("pk", flat=True)[:lacking]
    Yarn.objects.filter(pk__in=list(pks)).update(place=Yarn.Place.CANDIDATE)
    response = as_kit.post(register)
    assert response.status_code == 422
    assert sentence in response.content.decode()
    assert palette.registration is None


def test_with_nothing_entered_says_to_begin(as_kit, register):
    response = as_kit.post(register)
    assert response.status_code == 422
    assert "Enter and choose your yarns first" in response.content.decode()


def test_twice_makes_one_registration(as_kit, palette, register):
    as_kit.post(register)
    response = as_kit.post(register, follow=True)
    assert Registration.objects.count() == 1
    assert "Nothing has changed since version 1, so it stands." in response.content.decode()


@pytest.mark.django_db(transaction=True)
def test_two_clicks_at_once_make_one_registration(palette):
    barrier, made = threading.Barrier(4), []

    def run():
        barrier.wait()
        made.append(register_palette(Palette.objects.get(pk=palette.pk), now=timezone.now()))
        connections.close_all()

    threads = [threading.Thread(target=run) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert Registration.objects.count() == 1
    assert sorted(is_new for _, is_new in made) == [False, False, False, True]


def test_a_later_change_is_told_and_the_registered_copy_stays(
    as_kit, knit_along, palette, register
):
    as_kit.post(register)
    yarn = palette.yarns.chosen().first()
    yarn.name = "Renamed"
    yarn.save()
    assert "You have changed your palette since you registered it" in page_of(as_kit, knit_along)
    assert palette.registration.chosen[0].name == "Chosen 0"
    as_kit.post(register)
    assert palette.registration.number == 2
    assert palette.registration.chosen[0].name == "Renamed"
    assert "You have changed" not in page_of(as_kit, knit_along)


@pytest.mark.parametrize("change", ["order", "spare", "balls"])
def test_order_spares_and_amounts_count_as_changes(as_kit, palette, register, change):
    as_kit.post(register)
    first = palette.yarns.chosen().first()
    if change == "order":
        first.position = 9
    elif change == "spare":
        palette.yarns.spare().delete()
    else:
        first.balls = 7
    first.save()
    as_kit.post(register)
    assert palette.registration.number == 2


def test_a_change_among_the_candidates_is_none(as_kit, knit_along, palette, register):
    as_kit.post(register)
    make_yarn(palette, name="Another candidate")
    assert "You have changed" not in page_of(as_kit, knit_along)


def test_history_keeps_every_registration_readable(as_kit, knit_along, palette, register):
    as_kit.post(register)
    palette.yarns.filter(name="Chosen 2").update(name="Second thoughts")
    as_kit.post(register)
    page = page_of(as_kit, knit_along, "history")
    assert page.index("Version 2") < page.index("Version 1")
    assert "Chosen 2" in page_of(as_kit, knit_along, "registration", 1)
    assert "Second thoughts" in page_of(as_kit, knit_along, "registration", 2)


def test_history_is_its_owners_alone(as_kit, as_sam, knit_along, palette, register):
    as_kit.post(register)
    ann = signed_in(make_participant(knit_along, "Ann").user)
    url = reverse("palettes:registration", args=[knit_along.slug, 1])
    assert as_kit.get(url).status_code == 200
    assert (
        as_kit.get(reverse("palettes:registration", args=[knit_along.slug, 2])).status_code == 404
    )
    assert ann.get(url).status_code == 404
    assert as_sam.get(url).status_code == 404
    assert as_kit.post(url).status_code == 405
    assert "Version 1" not in page_of(ann, knit_along, "history")


def test_only_the_current_registration_is_in_the_gallerys_index(as_kit, palette, register):
    as_kit.post(register)
    palette.yarns.filter(name="Chosen 0").update(lab_a=60, lab_b=40, lab_l=45)
    as_kit.post(register)
    entries = GalleryEntry.objects.all()
    assert [entry.registration.number for entry in entries] == [2]
    assert entries.with_bits("families_some", bits(["red"], FAMILIES), every=True).exists()


def test_beiges_registered_as_greys_are_renamed(as_kit, palette, register):
    """As a palette registered before there were beiges is read after the migration."""
    lab_l, lab_a, lab_b = hex_to_lab("#b1a48b")
    palette.yarns.filter(name="Chosen 2").update(lab_l=lab_l, lab_a=lab_a, lab_b=lab_b)
    palette.yarns.filter(name="Chosen 3").update(lab_l=65, lab_a=0, lab_b=0)
    as_kit.post(register)
    yarns = palette.registration.yarns
    shades = dict(yarns.values_list("name", "shade_word"))
    assert (shades["Chosen 2"], shades["Chosen 3"]) == ("beige", "grey")
    migration = import_module("palettes.migrations.0009_light_warm_neutrals_are_beige")
    migration.name_greys(apps, None)
    assert not yarns.filter(shade_word="beige").exists()
    migration.name_beiges(apps, None)
    assert dict(yarns.values_list("name", "shade_word")) == shades
