"""Joining: by whichever rule, inside the window, each refusal one sentence."""

import re
import threading
from datetime import timedelta

import pytest
import time_machine
from django.db import connection

from kal.actions.joining import join
from kal.errors import CodeUsedUp
from kal.models import JoinCode, JoinListEntry, KnitAlong, Participant, Role
from kal.models.joining import CODE_LETTERS, new_code, tidy_code
from tests.builders import NOON, make_knit_along, make_participant, make_user
from tests.conftest import signed_in
from tests.pages import words

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
BEFORE = NOON - DAY


@pytest.fixture(autouse=True)
def long_sessions(settings):
    """Sessions made today still hold at the dates these tests travel to."""
    settings.SESSION_COOKIE_AGE = 10 * 365 * 24 * 60 * 60


def address(knit_along) -> str:
    return f"/k/{knit_along.slug}/join/"


def post(client, knit_along, *, instant=BEFORE, **data: str):
    with time_machine.travel(instant, tick=False):
        return client.post(address(knit_along), data)


def make_code(knit_along, **fields) -> JoinCode:
    return JoinCode.objects.create(knit_along=knit_along, **fields)


@pytest.fixture
def by_code(db) -> KnitAlong:
    return make_knit_along(join_rule="code")


class TestOpen:
    def test_a_visitor_is_led_through_signing_in_and_back(self, client, knit_along):
        response = client.get(f"{address(knit_along)}?code=ABCD")
        location = response.headers["Location"]
        assert location == f"/sign-in/?next={address(knit_along)}%3Fcode%3DABCD"

    def test_somebody_without_a_name_is_asked_for_it_first(self, knit_along):
        response = signed_in(make_user(name="")).get(f"{address(knit_along)}?code=ABCD")
        headed = f"{address(knit_along)}%3Fcode%3DABCD"
        assert response.headers["Location"] == f"/settings/?next={headed}"

    def test_joining_leads_to_preparing(self, as_sam, sam, knit_along):
        response = post(as_sam, knit_along)
        assert response.headers["Location"] == f"/k/{knit_along.slug}/prepare/"
        assert knit_along.participants.get().user == sam

    def test_the_gallery_is_asked_for_and_off_by_default(self, as_sam, knit_along):
        with time_machine.travel(BEFORE, tick=False):
            page = words(as_sam.get(address(knit_along)))
        boxes = re.findall(r'<input type="checkbox" name="(\w+)"([^>]*)>', page)
        assert {name: "checked" in rest for name, rest in boxes} == {
            "shows_palette": False,
            "wants_notices": True,
            "lends_photos": False,
        }

    @pytest.mark.parametrize("wish", [True, False])
    def test_wishes_are_kept_as_given(self, as_sam, knit_along, wish):
        given = {"shows_palette": "on", "wants_notices": "on"} if wish else {}
        post(as_sam, knit_along, **given)
        participant = knit_along.participants.get()
        assert (participant.shows_palette, participant.wants_notices) == (wish, wish)

    @pytest.mark.parametrize(
        ("instant", "sentence"),
        [
            (NOON - 60 * DAY - timedelta(seconds=1), "Sign-up opens on 31 December 2026, 12:00"),
            (NOON + 30 * DAY, "Sign-up closed on 31 March 2027, 13:00"),
        ],
    )
    def test_nobody_joins_outside_the_window(self, as_sam, knit_along, instant, sentence):
        with time_machine.travel(instant, tick=False):
            shown = as_sam.get(address(knit_along))
            refused = as_sam.post(address(knit_along))
        assert shown.status_code == 200
        assert '<button type="submit">Join' not in words(shown)
        assert refused.status_code == 422
        assert sentence in words(shown)
        assert sentence in words(refused)
        assert not Participant.objects.exists()

    @pytest.mark.parametrize("instant", [NOON - 60 * DAY, NOON + 30 * DAY - timedelta(seconds=1)])
    def test_the_ends_of_the_window(self, as_sam, knit_along, instant):
        assert post(as_sam, knit_along, instant=instant).status_code == 302

    def test_somebody_who_takes_part_is_led_on(self, as_kit, kit):
        for response in (as_kit.get(address(kit.knit_along)), post(as_kit, kit.knit_along)):
            assert response.headers["Location"] == f"/k/{kit.knit_along.slug}/prepare/"

    def test_somebody_who_left_may_come_back_as_a_participant(self, knit_along):
        edda = make_participant(knit_along, "Edda", Role.CO_ORGANISER)
        client = signed_in(edda.user)
        with time_machine.travel(BEFORE, tick=False):
            client.post(f"/k/{knit_along.slug}/membership/leave/")
        assert post(client, knit_along).status_code == 302
        edda.refresh_from_db()
        assert edda.left_at is None
        assert edda.role == Role.PARTICIPANT
        assert not edda.reads_early

    def test_somebody_who_was_removed_may_not(self, as_kit, kit):
        kit.left_at = kit.removed_at = NOON - 2 * DAY
        kit.save()
        response = post(as_kit, kit.knit_along)
        assert response.status_code == 422
        assert "The organiser has removed you from this knit-along" in words(response)

    def test_one_that_never_was(self, as_sam):
        assert as_sam.get("/k/nowhere/join/").status_code == 404

    def test_a_hidden_one_does_not_exist_for_strangers(self, as_sam):
        hidden = make_knit_along(is_public=False)
        assert as_sam.get(address(hidden)).status_code == 404
        assert post(as_sam, hidden).status_code == 404

    def test_other_methods_are_refused(self, as_sam, knit_along):
        assert as_sam.delete(address(knit_along)).status_code == 405

    def test_trying_without_end_has_to_wait(self, as_sam, by_code):
        statuses = [post(as_sam, by_code, code="X").status_code for _ in range(11)]
        assert statuses == [422] * 10 + [429]


class TestByCode:
    def test_a_code_that_is_needed_is_not_called_optional(self, as_sam, by_code):
        with time_machine.travel(BEFORE, tick=False):
            page = words(as_sam.get(address(by_code)))
        assert "Join code" in page
        assert "optional" not in page

    def test_the_link_fills_the_code_in(self, as_sam, by_code):
        code = make_code(by_code)
        with time_machine.travel(BEFORE, tick=False):
            page = words(as_sam.get(f"{address(by_code)}?code={code.spaced}"))
        assert f'name="code" value="{code.spaced}"' in page

    @pytest.mark.parametrize(
        "change", [str.lower, str.upper, lambda code: f" {code[:2]} {code[2:]}-"]
    )
    def test_case_spaces_and_dashes_do_not_matter(self, as_sam, by_code, change):
        code = make_code(by_code)
        assert post(as_sam, by_code, code=change(code.code)).status_code == 302
        code.refresh_from_db()
        assert code.uses == 1

    @pytest.mark.parametrize(
        ("fields", "sentence"),
        [
            ({"uses": 1}, "has been used up; ask the organiser for another."),
            ({"uses": 3, "most_uses": 3}, "has been used up; ask the organiser for another."),
            ({"expires_at": BEFORE}, "has expired; ask the organiser for another."),
            ({"withdrawn_at": NOON - 2 * DAY}, "The organiser has withdrawn the code"),
        ],
    )
    def test_a_code_that_is_no_longer_good_is_one_sentence(self, as_sam, by_code, fields, sentence):
        code = make_code(by_code, **fields)
        response = post(as_sam, by_code, code=code.code)
        assert response.status_code == 422
        assert words(response).count(sentence) == 1
        assert f'value="{code.code}"' in words(response)
        assert not Participant.objects.exists()

    @pytest.mark.parametrize(
        ("typed", "sentence"),
        [
            ("", "Type the join code the organiser gave you."),
            (" - ", "“-” is not a join code of this knit-along"),
            ("WRONG", "“WRONG” is not a join code of this knit-along"),
            ("<b>", "“&lt;b&gt;” is not a join code of this knit-along"),
        ],
    )
    def test_what_is_no_code_is_one_sentence(self, as_sam, by_code, typed, sentence):
        response = post(as_sam, by_code, code=typed)
        assert response.status_code == 422
        assert words(response).count(sentence) == 1

    def test_a_code_of_another_knit_along_is_no_good(self, as_sam, by_code):
        other = make_code(make_knit_along(join_rule="code"))
        assert post(as_sam, by_code, code=other.code).status_code == 422

    def test_a_code_without_limit_admits_everybody(self, by_code):
        code = make_code(by_code, most_uses=None)
        for name in ("Ada", "Bo", "Cleo"):
            assert post(signed_in(make_user(name)), by_code, code=code.code).status_code == 302
        code.refresh_from_db()
        assert code.uses == 3

    def test_joining_twice_uses_the_code_once(self, as_sam, sam, by_code):
        code = make_code(by_code, most_uses=2)
        for _ in range(2):
            join(by_code, sam, now=BEFORE, code=code.code)
        code.refresh_from_db()
        assert code.uses == 1

    def test_a_refusal_after_the_code_leaves_it_unused(self, sam, by_code):
        make_participant(by_code, user=sam, left_at=BEFORE, removed_at=BEFORE)
        code = make_code(by_code)
        post(signed_in(sam), by_code, code=code.code)
        code.refresh_from_db()
        assert code.uses == 0

    def test_a_hidden_knit_along_opens_to_a_code_even_a_spent_one(self, as_sam):
        hidden = make_knit_along(join_rule="code", is_public=False)
        code = make_code(hidden, uses=1)
        assert as_sam.get(f"{address(hidden)}?code={code.spaced}").status_code == 200
        assert as_sam.get(f"{address(hidden)}?code=WRONG").status_code == 404
        assert "has been used up" in words(post(as_sam, hidden, code=code.code))


@pytest.mark.django_db(transaction=True)
def test_the_last_use_of_a_code_goes_to_one_person_only():
    if "mode=memory" in str(connection.settings_dict["NAME"]):
        pytest.skip("a database in memory has one writer; PostgreSQL runs this test")
    knit_along = make_knit_along(join_rule="code")
    code = make_code(knit_along)
    people = [make_user(f"Knitter {n}") for n in range(6)]
    outcomes: list[bool] = []
    start = threading.Barrier(len(people))

    def try_once(user) -> None:
        start.wait()
        try:
            join(knit_along, user, now=BEFORE, code=code.code)
            outcomes.append(True)
        except CodeUsedUp:
            outcomes.append(False)
        finally:
            connection.close()

    threads = [threading.Thread(target=try_once, args=(user,)) for user in people]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(outcomes) == [False] * 5 + [True]
    assert knit_along.participants.count() == 1


class TestByList:
    @pytest.fixture
    def by_list(self) -> KnitAlong:
        return make_knit_along(join_rule="list")

    def test_an_address_on_the_list_may_join(self, as_sam, sam, by_list):
        JoinListEntry.objects.create(knit_along=by_list, email=sam.email)
        assert post(as_sam, by_list).status_code == 302

    def test_another_address_may_not(self, as_sam, sam, by_list):
        response = post(as_sam, by_list)
        assert response.status_code == 422
        assert f"{sam.email} is not on the organiser&#x27;s list" in words(response)

    def test_a_code_does_not_help(self, as_sam, by_list):
        code = make_code(by_list)
        assert post(as_sam, by_list, code=code.code).status_code == 422

    def test_a_hidden_knit_along_opens_to_those_on_the_list(self, as_sam, sam):
        hidden = make_knit_along(join_rule="list", is_public=False)
        assert as_sam.get(address(hidden)).status_code == 404
        JoinListEntry.objects.create(knit_along=hidden, email=sam.email)
        assert as_sam.get(address(hidden)).status_code == 200


def test_codes_hold_no_letters_that_are_mistaken_for_others():
    assert not set(CODE_LETTERS) & set("0O1IL2Z5S8BUV")
    assert all(set(new_code()) <= set(CODE_LETTERS) for _ in range(50))


def test_tidying_keeps_letters_and_digits_of_a_code():
    assert tidy_code(" acd3-4 EF\t67 ") == "ACD34EF67"
