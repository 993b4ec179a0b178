"""The organiser's join codes and join list."""

from datetime import UTC, datetime, timedelta

import pytest
import time_machine

from kal.actions.codes import add_to_join_list
from kal.models import JoinCode, JoinListEntry, Role
from tests.builders import make_knit_along, make_participant
from tests.conftest import signed_in
from tests.pages import words

TODAY = datetime(2027, 1, 10, 9, tzinfo=UTC)


@pytest.fixture(autouse=True)
def long_sessions(settings):
    """Sessions made today still hold at the dates these tests travel to."""
    settings.SESSION_COOKIE_AGE = 10 * 365 * 24 * 60 * 60


def desk(knit_along, rest: str) -> str:
    return f"/k/{knit_along.slug}/desk/{rest}"


class TestCodes:
    def make(self, client, knit_along, **data: str):
        with time_machine.travel(TODAY, tick=False):
            return client.post(desk(knit_along, "codes/"), {"count": "1", "most_uses": "1"} | data)

    def test_makes_as_many_as_asked_for_each_its_own(self, as_hana, hana):
        response = self.make(as_hana, hana.knit_along, count="25", label="parcels of 3 March")
        assert response.headers["Location"] == desk(hana.knit_along, "codes/")
        codes = hana.knit_along.join_codes.all()
        assert len({code.code for code in codes}) == 25
        assert {(code.label, code.most_uses) for code in codes} == {("parcels of 3 March", 1)}
        entry = hana.knit_along.audit_log.get()
        assert entry.detail == {"count": 25, "label": "parcels of 3 March"}

    def test_an_empty_limit_means_none(self, as_hana, hana):
        self.make(as_hana, hana.knit_along, most_uses="")
        assert hana.knit_along.join_codes.get().most_uses is None

    def test_the_end_is_typed_in_the_knit_along_s_zone(self, as_hana, hana):
        self.make(as_hana, hana.knit_along, good_until="2027-07-01T12:00")
        code = hana.knit_along.join_codes.get()
        assert code.expires_at == datetime(2027, 7, 1, 11, tzinfo=UTC)

    @pytest.mark.parametrize(
        ("data", "sentence"),
        [
            ({"count": "0"}, "Make at least 1 code."),
            ({"count": "201"}, "Make at most 200 codes at once."),
            ({"most_uses": "0"}, "A code admits at least 1 person."),
            ({"good_until": "2027-01-10T08:00"}, "That time has passed; choose one to come"),
            ({"good_until": "2027-03-28T01:30"}, "does not exist in Europe/Lisbon"),
        ],
    )
    def test_bad_input_is_one_sentence_and_makes_none(self, as_hana, hana, data, sentence):
        response = self.make(as_hana, hana.knit_along, label="shop", **data)
        assert response.status_code == 422
        assert words(response).count(sentence) == 1
        assert 'value="shop"' in words(response)
        assert not JoinCode.objects.exists()

    def test_the_page_shows_each_as_a_link_while_it_is_good(self, as_hana, hana, settings):
        settings.BASE_URL = "https://kal.example"
        good, gone = (JoinCode.objects.create(knit_along=hana.knit_along) for _ in range(2))
        JoinCode.objects.filter(pk=gone.pk).update(uses=1)
        page = words(as_hana.get(desk(hana.knit_along, "codes/")))
        link = f"https://kal.example/k/{hana.knit_along.slug}/join/?code="
        assert f"{link}{good.spaced}" in page
        assert f"{link}{gone.spaced}" not in page
        assert "used up; used 1 of 1" in page

    def test_withdrawing_is_logged_without_the_code(self, as_hana, hana):
        code = JoinCode.objects.create(knit_along=hana.knit_along, label="shop")
        for _ in range(2):
            as_hana.post(desk(hana.knit_along, f"codes/{code.pk}/withdraw/"))
        code.refresh_from_db()
        assert code.withdrawn_at is not None
        entry = hana.knit_along.audit_log.get()
        assert entry.act == "withdrew a join code"
        assert code.code not in str(entry.detail)

    def test_a_code_of_another_knit_along_is_out_of_reach(self, as_hana, hana):
        code = JoinCode.objects.create(knit_along=make_knit_along())
        target = desk(hana.knit_along, f"codes/{code.pk}/withdraw/")
        assert as_hana.post(target).status_code == 404

    def test_pages_take_the_same_queries(self, as_hana, hana, django_assert_num_queries):
        for _ in range(120):
            JoinCode.objects.create(knit_along=hana.knit_along)
        with django_assert_num_queries(5):  # session, user, membership, count, codes
            page = words(as_hana.get(desk(hana.knit_along, "codes/")))
        assert "Page 1 of 2" in page


class TestJoinList:
    def paste(self, client, knit_along, text: str):
        return client.post(desk(knit_along, "join-list/"), {"addresses": text})

    def listed(self, knit_along) -> list[str]:
        return [entry.email for entry in knit_along.join_list.all()]

    @pytest.mark.parametrize(
        "text",
        ["a@x.example\r\nb@x.example", "A@X.example, b@x.example", "a@x.example;;b@x.example;"],
    )
    def test_takes_lines_commas_and_capitals(self, as_hana, hana, text):
        self.paste(as_hana, hana.knit_along, text)
        assert self.listed(hana.knit_along) == ["a@x.example", "b@x.example"]

    def test_pasting_again_changes_nothing(self, as_hana, hana):
        for _ in range(2):
            response = self.paste(as_hana, hana.knit_along, "a@x.example\nb@x.example")
        assert response.status_code == 302
        assert len(self.listed(hana.knit_along)) == 2
        assert hana.knit_along.audit_log.count() == 1
        page = words(as_hana.get(desk(hana.knit_along, "join-list/")))
        assert "0 added; 2 were on the list before." in page

    def test_each_bad_entry_is_named_and_none_is_added(self, as_hana, hana):
        text = "a@x.example\nnot an address\nb@x.example\n@"
        response = self.paste(as_hana, hana.knit_along, text)
        assert response.status_code == 422
        page = words(response)
        assert "Entry 2, “not an address”, is not a mail address." in page
        assert "Entry 4, “@”, is not a mail address." in page
        assert "a@x.example" in page
        assert not JoinListEntry.objects.exists()

    def test_many_bad_entries_are_cut_short(self, as_hana, hana):
        page = words(self.paste(as_hana, hana.knit_along, "x\n" * 30))
        assert "Entry 20, “x”" in page
        assert "Entry 21" not in page
        assert "And 10 more rows like these." in page

    @pytest.mark.parametrize(
        ("text", "sentence"),
        [
            ("", "Paste at least one mail address."),
            ("a@x.example\n" * 5001, "Paste at most 5000 addresses at once; these are 5001."),
        ],
    )
    def test_none_or_too_many(self, as_hana, hana, text, sentence):
        response = self.paste(as_hana, hana.knit_along, text)
        assert response.status_code == 422
        assert sentence in words(response)

    def test_two_pastes_at_once_do_no_harm(self, hana):
        for _ in range(2):
            add_to_join_list(hana.knit_along, ["a@x.example"], by=hana.user, now=TODAY)
        assert self.listed(hana.knit_along) == ["a@x.example"]

    def test_removing_one(self, as_hana, hana):
        entry = JoinListEntry.objects.create(knit_along=hana.knit_along, email="a@x.example")
        as_hana.post(desk(hana.knit_along, f"join-list/{entry.pk}/remove/"))
        assert not self.listed(hana.knit_along)
        assert hana.knit_along.audit_log.get().detail == {"address": "a@x.example"}

    def test_searching(self, as_hana, hana):
        for name in ("ada", "bo"):
            JoinListEntry.objects.create(knit_along=hana.knit_along, email=f"{name}@x.example")
        page = words(as_hana.get(desk(hana.knit_along, "join-list/"), {"q": "ADA"}))
        assert "ada@x.example" in page
        assert "bo@x.example" not in page


@pytest.mark.parametrize("rest", ["codes/", "join-list/"])
class TestWhoMay:
    @pytest.mark.parametrize("role", [Role.CO_ORGANISER, Role.MODERATOR, Role.PARTICIPANT])
    def test_nobody_but_an_organiser(self, knit_along, role, rest):
        client = signed_in(make_participant(knit_along, "Otto", role).user)
        assert client.get(desk(knit_along, rest)).status_code == 404
        assert client.post(desk(knit_along, rest)).status_code == 404

    def test_other_methods_are_refused(self, as_hana, hana, rest):
        assert as_hana.delete(desk(hana.knit_along, rest)).status_code == 405

    def test_a_visitor_is_asked_to_sign_in(self, client, knit_along, rest):
        assert client.get(desk(knit_along, rest)).headers["Location"].startswith("/sign-in/")


@pytest.mark.parametrize("rest", ["codes/1/withdraw/", "join-list/1/remove/"])
def test_acts_are_posted(as_hana, hana, rest):
    assert as_hana.get(desk(hana.knit_along, rest)).status_code == 405
    assert as_hana.post(desk(hana.knit_along, rest)).status_code == 404


def test_codes_expire_on_the_second(hana):
    code = JoinCode(knit_along=hana.knit_along, expires_at=TODAY)
    assert not code.is_expired(TODAY - timedelta(seconds=1))
    assert code.is_expired(TODAY)
