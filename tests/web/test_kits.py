"""Kits: a shop proposes, the organiser decides, participants adopt, and nobody else gets there."""

import html

import pytest
from django.urls import reverse

from kal.models import AuditEntry, Role
from palettes.kit_actions import MAX_KITS, approve
from palettes.models import Kit, KitMaker, KitYarn
from tests.builders import (
    NOON,
    make_clue,
    make_kit,
    make_kit_maker,
    make_knit_along,
    make_meeting,
    make_participant,
    make_registration,
    make_user,
)
from tests.conftest import signed_in
from tests.pages import words

pytestmark = pytest.mark.usefixtures("noon")

WORDS = {"title": "Harbour greys", "description": "", "link": "", "stock": ""}
YARN = {
    "name": "Gull",
    "colour": "#9a9a98",
    "dye_style": "solid",
    "fibre": "100% wool",
    "construction": "two-ply",
    "care": "hand",
    "put_up_grams": "50",
    "put_up_metres": "200",
    "balls": "2",
}


def at(knit_along, rest: str = "") -> str:
    return f"/k/{knit_along.slug}/{rest}"


@pytest.fixture
def maker(knit_along, dora) -> KitMaker:
    return make_kit_maker(knit_along, email=dora.email)


@pytest.fixture
def as_dora(dora, maker):
    return signed_in(dora)


class TestName:
    """A palette that came from a kit says so, and leads there while the kit is shown."""

    @pytest.fixture
    def from_kit(self, kit, maker):
        offered = make_kit(kit.knit_along, maker=maker, state="approved", title="Harbour greys")
        registration = make_registration(kit)
        registration.kit = offered
        registration.save()
        return registration

    @pytest.fixture(autouse=True)
    def shown_to_all(self, kit):
        kit.shows_palette = True
        kit.save()

    def pages(self, registration) -> list[str]:
        knit_along = registration.knit_along
        return [
            at(knit_along, f"gallery/{registration.palette_id}/"),
            at(knit_along, f"palette/history/{registration.number}/"),
        ]

    def test_in_the_gallery_and_where_it_is_kept(self, as_kit, maker, from_kit):
        link = f'<a href="{from_kit.kit.get_absolute_url()}">Harbour greys</a>'
        for page in self.pages(from_kit):
            shown = as_kit.get(page)
            assert f"From the kit {link} by {html.escape(maker.name)}." in words(shown)

    @pytest.mark.parametrize("gone", ["declined", "withdrawn"])
    def test_one_no_longer_shown_is_named_to_its_owner_alone(self, as_kit, maker, from_kit, gone):
        if gone == "declined":
            Kit.objects.update(state="declined", reason="Sold out.")
        else:
            KitMaker.objects.update(withdrawn_at=NOON)
        gallery, kept = self.pages(from_kit)
        assert as_kit.get(gallery).status_code == 200
        assert "Harbour greys" not in words(as_kit.get(gallery))
        assert "From the kit Harbour greys by" in words(as_kit.get(kept))
        assert "which is not shown any more." in words(as_kit.get(kept))
        assert from_kit.kit.get_absolute_url() not in words(as_kit.get(kept))

    def test_a_palette_of_its_own_says_nothing_of_kits(self, as_kit, kit):
        for page in self.pages(make_registration(kit)):
            assert as_kit.get(page).status_code == 200
            assert "From the kit" not in words(as_kit.get(page))


class TestMaker:
    """The dyer's own pages."""

    def test_a_kit_is_put_together_and_proposed(self, knit_along, as_dora, maker):
        said = WORDS | {"link": "https://shed.example/harbour", "stock": "eight left"}
        as_dora.post(at(knit_along, "kits/mine/new/"), said)
        kit = Kit.objects.get()
        assert (kit.maker, kit.state, kit.said_at) == (maker, "draft", NOON)
        page = at(knit_along, f"kits/mine/{kit.pk}/")
        assert "Enter 5 more yarns: the pattern takes 5." in words(as_dora.get(page))
        for number in range(5):
            answer = as_dora.post(f"{page}yarns/", YARN | {"name": f"Gull {number}"})
            assert answer.headers["Location"] == page
        assert as_dora.post(f"{page}propose/").status_code == 302
        kit.refresh_from_db()
        assert (kit.state, kit.proposed_at) == ("proposed", NOON)
        assert [yarn.position for yarn in kit.yarns.all()] == [0, 1, 2, 3, 4]
        assert kit.yarns.all()[0].facts()[1] == "100% wool"

    def test_there_is_no_sixth_yarn(self, knit_along, as_dora, maker):
        kit = make_kit(knit_along, maker=maker)
        answer = as_dora.post(at(knit_along, f"kits/mine/{kit.pk}/yarns/"), YARN)
        assert answer.status_code == 422
        assert "A kit here has 5 yarns, one for each colour; remove one first." in words(answer)
        assert kit.yarns.count() == 5

    def test_a_yarn_refused_keeps_what_was_typed(self, knit_along, as_dora, maker):
        kit = make_kit(knit_along, (20,), maker=maker)
        wrong = YARN | {"colour": "blueish", "name": "<script>alert(1)</script>"}
        answer = as_dora.post(at(knit_along, f"kits/mine/{kit.pk}/yarns/"), wrong)
        assert answer.status_code == 422
        assert 'value="blueish"' in words(answer)
        assert "is not a colour" in words(answer)
        assert "<script>alert" not in answer.content.decode()

    def test_put_ups_are_asked_for_before_it_is_proposed(self, knit_along, as_dora, maker):
        kit = make_kit(knit_along, maker=maker)
        kit.yarns.filter(name="Kit 40").update(put_up_grams=None)
        answer = as_dora.post(at(knit_along, f"kits/mine/{kit.pk}/propose/"))
        assert "Say how many grams and metres a ball holds of: Kit 40." in words(answer)
        kit.yarns.update(put_up_grams=50)
        kit.yarns.filter(name="Kit 60").update(balls=0)
        answer = as_dora.post(at(knit_along, f"kits/mine/{kit.pk}/propose/"))
        assert answer.status_code == 422
        assert "Say how many balls the kit holds of: Kit 60." in words(answer)

    def test_yarns_are_changed_moved_and_removed(self, knit_along, as_dora, maker):
        kit = make_kit(knit_along, maker=maker)
        second = kit.yarns.all()[1]
        as_dora.post(at(knit_along, f"kits/mine/yarns/{second.pk}/"), YARN)
        as_dora.post(at(knit_along, f"kits/mine/yarns/{second.pk}/up/"))
        assert [yarn.name for yarn in kit.yarns.all()][:2] == ["Gull", "Kit 20"]
        as_dora.post(at(knit_along, f"kits/mine/yarns/{second.pk}/remove/"))
        assert kit.yarns.count() == 4

    @pytest.mark.parametrize("state", [Kit.State.PROPOSED, Kit.State.APPROVED])
    def test_yarns_stand_still_once_proposed_but_link_and_stock_do_not(
        self, knit_along, as_dora, maker, state
    ):
        kit = make_kit(knit_along, maker=maker, state=state, title="Greys")
        first = kit.yarns.all()[0]
        for address in (f"yarns/{first.pk}/", f"{kit.pk}/yarns/", f"yarns/{first.pk}/remove/"):
            answer = as_dora.post(at(knit_along, f"kits/mine/{address}"), YARN)
            assert answer.status_code == 422
            assert "take it back first, then change it" in words(answer)
        assert kit.yarns.all()[0].name == "Kit 20"
        page = at(knit_along, f"kits/mine/{kit.pk}/")
        as_dora.post(page, {"title": "Other", "stock": "two left", "link": ""})
        kit.refresh_from_db()
        assert (kit.title, kit.stock, kit.state) == ("Greys", "two left", state)
        as_dora.post(f"{page}take-back/")
        as_dora.post(page, WORDS)
        kit.refresh_from_db()
        assert (kit.title, kit.state) == ("Harbour greys", "draft")

    @pytest.mark.parametrize("link", ["javascript:alert(1)", "ftp://shed.example/", "shed"])
    def test_a_link_that_is_no_web_address_is_refused(self, knit_along, as_dora, link):
        answer = as_dora.post(at(knit_along, "kits/mine/new/"), WORDS | {"link": link})
        assert answer.status_code == 422
        assert "Write the whole address, like https://" in words(answer)
        assert not Kit.objects.exists()

    def test_there_are_so_many_kits_and_no_more(self, knit_along, as_dora, maker):
        for _ in range(MAX_KITS):
            make_kit(knit_along, (), maker=maker)
        answer = as_dora.post(at(knit_along, "kits/mine/new/"), WORDS)
        assert f"You have {MAX_KITS} kits here" in words(answer)
        assert Kit.objects.count() == MAX_KITS

    def test_another_makers_kit_is_out_of_reach(self, knit_along, as_dora):
        other = make_kit(knit_along)
        yarn = other.yarns.all()[0]
        pages = ["", "yarns/", "propose/", "take-back/"]
        addresses = [f"{other.pk}/{page}" for page in pages]
        addresses += [f"yarns/{yarn.pk}/{page}" for page in ("", "up/", "remove/")]
        for address in addresses:
            assert as_dora.post(at(knit_along, f"kits/mine/{address}"), YARN).status_code == 404
        assert other.yarns.count() == 5

    def test_a_withdrawn_invitation_ends_at_once(self, knit_along, as_dora, maker, as_hana):
        kit = make_kit(knit_along, maker=maker, state=Kit.State.APPROVED)
        as_hana.post(at(knit_along, f"desk/kits/makers/{maker.pk}/withdraw/"))
        assert as_dora.get(at(knit_along, "kits/mine/")).status_code == 404
        assert as_hana.get(at(knit_along, f"kits/{kit.pk}/")).status_code == 404

    def test_the_invitation_is_for_no_other_page(self, knit_along, as_dora):
        make_clue(knit_along, 1)
        for rest in ("clues/", "clues/1/", "kits/", "gallery/", "palette/", "desk/kits/"):
            assert as_dora.get(at(knit_along, rest)).status_code == 404
        assert as_dora.get(at(make_knit_along(), "kits/mine/")).status_code == 404


class TestDesk:
    """Inviting, approving, declining."""

    def test_an_invitation_is_by_address_and_renewed_by_inviting_again(
        self, knit_along, as_hana, settings
    ):
        settings.BASE_URL = "https://kal.example"
        for name in ("Dye shed", "The dye shed"):
            data = {"name": name, "email": "Dora@Shed.example"}
            assert as_hana.post(at(knit_along, "desk/kits/"), data).status_code == 302
        assert KitMaker.objects.get().name == "The dye shed"
        page = words(as_hana.get(at(knit_along, "desk/kits/")))
        assert f"https://kal.example/k/{knit_along.slug}/kits/mine/" in page
        assert (
            signed_in(make_user(email="dora@shed.example"))
            .get(at(knit_along, "kits/mine/"))
            .status_code
            == 200
        )

    def test_a_draft_is_its_makers_own(self, knit_along, as_hana):
        kit = make_kit(knit_along, title="Unfinished")
        assert "Unfinished" not in words(as_hana.get(at(knit_along, "desk/kits/")))
        assert as_hana.get(at(knit_along, f"desk/kits/{kit.pk}/")).status_code == 404
        assert as_hana.post(at(knit_along, f"desk/kits/{kit.pk}/approve/")).status_code == 404

    def test_approved_it_is_shown_and_logged(self, knit_along, as_hana, as_kit):
        kit = make_kit(knit_along, state=Kit.State.PROPOSED, title="Harbour")
        assert as_kit.get(at(knit_along, f"kits/{kit.pk}/")).status_code == 404
        page = words(as_hana.get(at(knit_along, f"desk/kits/{kit.pk}/")))
        assert "Audit" in page
        assert "In the kit" in page
        as_hana.post(at(knit_along, f"desk/kits/{kit.pk}/approve/"))
        assert "Harbour" in words(as_kit.get(at(knit_along, "kits/")))
        assert AuditEntry.objects.get().act == "approved a kit"

    def test_declined_it_goes_back_with_the_reason(self, knit_along, as_hana, as_dora, maker):
        kit = make_kit(knit_along, maker=maker, state=Kit.State.PROPOSED)
        address = at(knit_along, f"desk/kits/{kit.pk}/decline/")
        assert "Say why" in words(as_hana.post(address, {"reason": " "}))
        as_hana.post(address, {"reason": "Two darks are alike."})
        page = words(as_dora.get(at(knit_along, f"kits/mine/{kit.pk}/")))
        assert "Two darks are alike." in page
        assert "Propose it to the organiser" in page
        answer = as_hana.post(at(knit_along, f"desk/kits/{kit.pk}/approve/"))
        assert answer.status_code == 422
        assert "not waiting for you any more" in words(answer)

    def test_another_knit_alongs_kits_are_out_of_reach(self, knit_along, as_hana):
        other = make_kit(make_knit_along(), state=Kit.State.PROPOSED)
        for act in ("", "approve/", "decline/"):
            answer = as_hana.post(at(knit_along, f"desk/kits/{other.pk}/{act}"), {"reason": "x"})
            assert answer.status_code in (404, 405)
        address = at(knit_along, f"desk/kits/makers/{other.maker_id}/withdraw/")
        assert as_hana.post(address).status_code == 404

    @pytest.mark.parametrize("role", [Role.PARTICIPANT, Role.MODERATOR, Role.CO_ORGANISER])
    def test_only_the_organiser_decides(self, knit_along, role):
        kit = make_kit(knit_along, state=Kit.State.PROPOSED)
        client = signed_in(make_participant(knit_along, "Moss", role).user)
        for rest in ("", f"{kit.pk}/", f"{kit.pk}/approve/", f"{kit.pk}/decline/"):
            answer = client.post(at(knit_along, f"desk/kits/{rest}"), {"reason": "x"})
            assert answer.status_code in (404, 405)
        assert client.get(at(knit_along, "desk/dry-run/kits/")).status_code == 404
        kit.refresh_from_db()
        assert kit.state == "proposed"

    def test_the_dry_run_tells_which_pairs_do_not_read(self, knit_along, as_hana):
        make_meeting(make_clue(knit_along, 1), "AB", technique="two-row stripes")
        make_kit(knit_along, (20, 24, 60, 75, 92), state=Kit.State.PROPOSED, title="Close greys")
        make_kit(knit_along, state=Kit.State.APPROVED, title="Far greys")
        make_kit(knit_along, title="A draft")
        page = words(as_hana.get(at(knit_along, "desk/dry-run/kits/")))
        assert page.count("Reads everything.") == 1
        assert "A and B (Kit 20 beside Kit 24)" in page
        assert "A draft" not in page
        planned = words(as_hana.get(at(knit_along, "desk/dry-run/kits/?as_if_planned=yes")))
        assert planned.count("Reads everything.") == 2


class TestParticipants:
    """Looking and adopting."""

    def test_the_shops_words_are_dated_and_its_link_is_marked(self, knit_along, as_kit):
        kit = make_kit(
            knit_along,
            state=Kit.State.APPROVED,
            link="https://shed.example/harbour?a=1",
            stock="<b>eight</b> left",
            title="Harbour",
        )
        page = words(as_kit.get(at(knit_along, f"kits/{kit.pk}/")))
        assert 'rel="nofollow noopener noreferrer external"' in page
        assert "Harbour on shed.example</a>" in page
        assert "on 1 March 2027" in page
        assert "&lt;b&gt;eight&lt;/b&gt; left" in page
        assert "2 balls of 50 g, 200 m" in page

    def test_one_click_adopts_it_and_says_what_was_set_aside(self, knit_along, kit, as_kit):
        make_registration(kit)
        shop_kit = make_kit(knit_along, state=Kit.State.APPROVED, title="Harbour")
        address = at(knit_along, f"kits/{shop_kit.pk}/adopt/")
        assert as_kit.get(address).status_code == 405
        answer = as_kit.post(address, follow=True)
        assert "The yarns of “Harbour” are chosen now" in words(answer)
        assert "Set aside, and kept: Grey 20; Grey 40; Grey 60; Grey 75; Grey 92." in words(answer)
        assert "you adopted it" in words(as_kit.get(at(knit_along, "kits/")))

    def test_a_full_palette_is_told_so(self, knit_along, kit, as_kit):
        make_registration(kit)
        kit.palette.yarns.first()
        shop_kit = make_kit(knit_along, state=Kit.State.APPROVED)
        for _ in range(32):
            kit.palette.yarns.create(name="x", lab_l=50, lab_a=0, lab_b=0)
        answer = as_kit.post(at(knit_along, f"kits/{shop_kit.pk}/adopt/"))
        assert answer.status_code == 422
        assert "holds 40 yarns at most" in words(answer)

    def test_an_empty_list_says_what_to_do_instead(self, knit_along, as_kit):
        assert "Choose yarns of your own" in words(as_kit.get(at(knit_along, "kits/")))

    def test_as_many_queries_for_many_kits_as_for_one(
        self, knit_along, as_kit, django_assert_num_queries
    ):
        for _ in range(30):
            make_kit(knit_along, state=Kit.State.APPROVED)
        # session, user, membership; count, kits with makers, yarns; own palette
        with django_assert_num_queries(7):
            assert "Page 1 of 2" in words(as_kit.get(at(knit_along, "kits/")))

    def test_the_desk_and_the_makers_list_take_the_same_queries_for_many(
        self, knit_along, as_hana, as_dora, maker, django_assert_num_queries
    ):
        for _ in range(12):
            make_kit(knit_along, maker=maker, state=Kit.State.PROPOSED)
        with django_assert_num_queries(7):  # session, user, membership; count, kits, yarns; makers
            as_hana.get(at(knit_along, "desk/kits/"))
        with django_assert_num_queries(6):  # session, user, invitation; kits, yarns; membership
            as_dora.get(at(knit_along, "kits/mine/"))

    def test_strangers_and_visitors_see_none(self, knit_along, as_sam, client):
        kit = make_kit(knit_along, state=Kit.State.APPROVED)
        for rest in ("kits/", f"kits/{kit.pk}/", "kits/mine/"):
            assert as_sam.get(at(knit_along, rest)).status_code == 404
            assert client.get(at(knit_along, rest)).headers["Location"].startswith("/sign-in/")
        assert reverse("palettes:kit", args=[knit_along.slug, kit.pk]) == kit.get_absolute_url()


def test_approving_twice_is_refused_the_second_time(knit_along, hana):
    kit = make_kit(knit_along, state=Kit.State.PROPOSED)
    approve(kit, by=hana.user, now=NOON)
    with pytest.raises(ValueError, match="not waiting"):
        approve(kit, by=hana.user, now=NOON)
    assert KitYarn.objects.filter(kit=kit).count() == 5
