"""The organiser's people page: finding, roles, sending away, letting back, each act logged."""

import pytest

from kal.models import Role
from tests.builders import NOON, make_knit_along, make_participant
from tests.conftest import signed_in
from tests.pages import words


def address(knit_along, rest: str = "") -> str:
    return f"/k/{knit_along.slug}/desk/people/{rest}"


def last_act(knit_along):
    entry = knit_along.audit_log.first()
    return entry and (entry.act, entry.detail)


class TestList:
    def test_shows_names_addresses_and_roles(self, as_hana, hana, kit):
        page = words(as_hana.get(address(hana.knit_along)))
        assert f'<strong>Kit</strong> <span class="muted">{kit.user.email}</span>' in page
        assert "2 people." in page

    @pytest.mark.parametrize("words_", ["kit", "KIT", "kit{}", "@knitters"])
    def test_finds_by_name_or_address(self, as_hana, hana, kit, words_):
        make_participant(hana.knit_along, "Ottilie", user=None)
        page = words(as_hana.get(address(hana.knit_along), {"q": words_.format("")}))
        assert kit.user.email in page

    def test_says_when_nobody_is_found(self, as_hana, hana):
        page = words(as_hana.get(address(hana.knit_along), {"q": "zz<top>"}))
        assert "Nobody here has “zz&lt;top&gt;” in their name or address." in page

    def test_those_who_left_are_not_shown(self, as_hana, hana, kit):
        kit.left_at = NOON
        kit.save()
        assert kit.user.email not in words(as_hana.get(address(hana.knit_along)))

    def test_pages_take_the_same_queries_however_many_people(
        self, as_hana, hana, django_assert_num_queries
    ):
        for number in range(55):
            make_participant(hana.knit_along, f"Knitter {number}")
        with django_assert_num_queries(5):  # session, user, membership, count, people
            first = words(as_hana.get(address(hana.knit_along)))
        second = words(as_hana.get(address(hana.knit_along), {"page": 2, "q": "knitters"}))
        assert "Page 1 of 2" in first
        assert 'href="?page=2"' in first
        assert 'href="?q=knitters&amp;page=1"' in second

    @pytest.mark.parametrize("page", ["0", "999", "x"])
    def test_a_page_that_is_not_there_shows_one_that_is(self, as_hana, hana, page):
        assert as_hana.get(address(hana.knit_along), {"page": page}).status_code == 200


class TestRoles:
    @pytest.mark.parametrize("role", [Role.CO_ORGANISER, Role.MODERATOR, Role.ORGANISER])
    def test_somebody_gets_another_role(self, as_hana, hana, kit, role):
        response = as_hana.post(address(hana.knit_along, f"{kit.pk}/role/"), {"role": role})
        assert response.headers["Location"] == address(hana.knit_along)
        kit.refresh_from_db()
        assert kit.role == role
        act, detail = last_act(hana.knit_along)
        assert act == "changed a role"
        assert (detail["person"], detail["before"]) == ("Kit", "participant")

    def test_the_list_stays_where_it_was(self, as_hana, hana, kit):
        response = as_hana.post(
            address(hana.knit_along, f"{kit.pk}/role/?q=kit&page=1"), {"role": "moderator"}
        )
        assert response.headers["Location"] == address(hana.knit_along, "?q=kit&page=1")

    def test_the_same_role_again_is_not_logged(self, as_hana, hana, kit):
        as_hana.post(address(hana.knit_along, f"{kit.pk}/role/"), {"role": "participant"})
        assert last_act(hana.knit_along) is None

    @pytest.mark.parametrize("role", ["", "queen"])
    def test_an_unknown_role_is_one_sentence(self, as_hana, hana, kit, role):
        response = as_hana.post(address(hana.knit_along, f"{kit.pk}/role/"), {"role": role})
        assert response.status_code == 422
        assert "Choose a role from the list." in words(response)

    def test_the_last_organiser_stays_one(self, as_hana, hana):
        response = as_hana.post(
            address(hana.knit_along, f"{hana.pk}/role/"), {"role": "participant"}
        )
        assert response.status_code == 422
        assert "Hana is the only organiser; make somebody else an organiser first." in words(
            response
        )
        hana.refresh_from_db()
        assert hana.is_organiser

    def test_an_organiser_may_give_the_desk_away(self, as_hana, hana):
        make_participant(hana.knit_along, "Otto", Role.ORGANISER)
        response = as_hana.post(
            address(hana.knit_along, f"{hana.pk}/role/"), {"role": "participant"}
        )
        assert response.headers["Location"] == "/"

    def test_an_organiser_who_left_does_not_count(self, as_hana, hana):
        make_participant(hana.knit_along, "Otto", Role.ORGANISER, left_at=NOON)
        response = as_hana.post(address(hana.knit_along, f"{hana.pk}/remove/"))
        assert response.status_code == 422


class TestRemoving:
    def test_somebody_removed_is_out_and_logged(self, as_hana, hana, kit):
        as_hana.post(address(hana.knit_along, f"{kit.pk}/remove/"))
        kit.refresh_from_db()
        assert kit.left_at is not None
        assert kit.removed_at is not None
        assert last_act(hana.knit_along)[0] == "removed a participant"
        assert signed_in(kit.user).get(f"/k/{hana.knit_along.slug}/prepare/").status_code == 404

    def test_a_removed_co_organiser_reads_nothing_early_any_more(self, as_hana, hana):
        edda = make_participant(hana.knit_along, "Edda", Role.CO_ORGANISER)
        as_hana.post(address(hana.knit_along, f"{edda.pk}/remove/"))
        edda.refresh_from_db()
        assert not edda.reads_early

    def test_somebody_removed_can_be_let_back(self, as_hana, hana, kit):
        as_hana.post(address(hana.knit_along, f"{kit.pk}/remove/"))
        page = words(as_hana.get(address(hana.knit_along, "?show=removed")))
        assert "Let Kit back in" in page
        as_hana.post(address(hana.knit_along, f"{kit.pk}/let-back/"))
        kit.refresh_from_db()
        assert kit.left_at is None
        assert last_act(hana.knit_along)[0] == "let a participant back in"

    def test_somebody_who_left_of_their_own_will_is_not_dragged_back(self, as_hana, hana, kit):
        kit.left_at = NOON
        kit.save()
        assert as_hana.post(address(hana.knit_along, f"{kit.pk}/let-back/")).status_code == 404


@pytest.mark.parametrize("rest", ["{pk}/role/", "{pk}/remove/", "{pk}/let-back/"])
class TestWhoMayAct:
    @pytest.mark.parametrize("role", [Role.CO_ORGANISER, Role.MODERATOR, Role.PARTICIPANT])
    def test_nobody_but_an_organiser(self, knit_along, kit, role, rest):
        client = signed_in(make_participant(knit_along, "Otto", role).user)
        assert client.post(address(knit_along, rest.format(pk=kit.pk))).status_code == 404
        assert client.get(address(knit_along)).status_code == 404

    def test_only_on_people_of_their_own_knit_along(self, as_hana, hana, rest):
        stranger = make_participant(make_knit_along(), "Nell", left_at=NOON, removed_at=NOON)
        target = address(hana.knit_along, rest.format(pk=stranger.pk))
        assert as_hana.post(target, {"role": "moderator"}).status_code == 404

    def test_only_by_posting(self, as_hana, hana, kit, rest):
        assert as_hana.get(address(hana.knit_along, rest.format(pk=kit.pk))).status_code == 405

    def test_a_bad_number(self, as_hana, hana, rest):
        assert as_hana.post(address(hana.knit_along, rest.format(pk=999999))).status_code == 404
