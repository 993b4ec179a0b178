"""A participant's wishes, and leaving."""

import pytest

from kal.models import Role
from tests.builders import make_participant
from tests.pages import words


def address(participant, rest: str = "") -> str:
    return f"/k/{participant.knit_along.slug}/membership/{rest}"


@pytest.mark.parametrize("wish", [True, False])
def test_wishes_can_be_changed(as_kit, kit, wish):
    given = {"shows_palette": "on", "wants_notices": "on"} if wish else {}
    response = as_kit.post(address(kit), given)
    assert response.headers["Location"] == address(kit)
    kit.refresh_from_db()
    assert (kit.shows_palette, kit.wants_notices) == (wish, wish)


def test_nothing_else_of_a_membership_can_be_set(as_kit, kit):
    as_kit.post(address(kit), {"role": "organiser", "token": "x"})
    kit.refresh_from_db()
    assert kit.role == Role.PARTICIPANT
    assert kit.token != "x"


def test_leaving_closes_the_door_and_hides_the_palette(as_kit, kit):
    kit.shows_palette = True
    kit.save()
    assert as_kit.post(address(kit, "leave/")).headers["Location"] == "/"
    kit.refresh_from_db()
    assert kit.left_at is not None
    assert kit.removed_at is None
    assert not kit.shows_palette
    assert as_kit.get(address(kit)).status_code == 404


def test_the_last_organiser_cannot_leave(as_hana, hana):
    response = as_hana.post(address(hana, "leave/"))
    assert response.status_code == 422
    assert "Hana is the only organiser; make somebody else an organiser first." in words(response)
    hana.refresh_from_db()
    assert hana.left_at is None


def test_one_of_two_organisers_can(as_hana, hana):
    make_participant(hana.knit_along, "Otto", Role.ORGANISER)
    assert as_hana.post(address(hana, "leave/")).headers["Location"] == "/"


@pytest.mark.parametrize("rest", ["", "leave/"])
def test_strangers_and_visitors(as_sam, client, kit, rest):
    assert as_sam.post(address(kit, rest)).status_code == 404
    assert client.post(address(kit, rest)).headers["Location"].startswith("/sign-in/")


def test_leaving_is_posted(as_kit, kit):
    assert as_kit.get(address(kit, "leave/")).status_code == 405
    assert as_kit.delete(address(kit)).status_code == 405
