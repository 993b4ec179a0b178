"""A knit-along's public page, and creating and changing one."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
import time_machine

from kal.models import AuditEntry, KnitAlong, Role
from palettes.models import Registration
from schedule.changes import Ask, Change
from tests.builders import (
    NOON,
    make_clue,
    make_knit_along,
    make_palette,
    make_participant,
    make_user,
)
from tests.changing import make_change
from tests.conftest import signed_in
from tests.pages import words

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
TODAY = datetime(2027, 1, 10, 9, tzinfo=UTC)
GOOD = {
    "title": "Harbour Lights",
    "theme": "Lamps seen across water.",
    "zone": "Europe/Lisbon",
    "colour_count": "5",
    "yarn_weight": "1",
    "needle_mm": "3.25",
    "gauge_stitches": "28",
    "gauge_rows": "44",
    "grams": "50",
    "metres": "200.5",
    "join_rule": "code",
    "sign_up_opens": "2027-01-15T08:00",
    "sign_up_closes": "2027-03-20T20:00",
    "cast_on": "2027-03-14T18:00",
    "clue_count": "4",
    "cadence_days": "7",
    "is_public": "on",
}


@pytest.fixture(autouse=True)
def long_sessions(settings):
    """Sessions made today still hold at the dates these tests travel to."""
    settings.SESSION_COOKIE_AGE = 10 * 365 * 24 * 60 * 60


@pytest.fixture
def as_host(sam):
    sam.may_host = True
    sam.zone = "Asia/Tokyo"
    sam.save()
    return signed_in(sam)


def create(client, **changes: str):
    with time_machine.travel(TODAY, tick=False):
        return client.post("/new/", GOOD | changes)


class TestPublicPage:
    def test_a_visitor_reads_what_to_bring_and_when(self, client, knit_along):
        with time_machine.travel(NOON - DAY, tick=False):
            page = words(client.get(knit_along.get_absolute_url()))
        assert f"<h1>{knit_along.title}</h1>" in page
        assert "A, B, C, D, E" in page
        assert "100 g and 400 m" in page
        assert "3.5 oz and 438 yd" in page
        assert "3.5 mm" in page
        assert "(US 4)" in page
        assert "Mon 1 Mar 2027, 12:00</time> (Europe/Lisbon)" in page
        assert f'href="/k/{knit_along.slug}/join/"' in page

    def test_a_reader_s_own_units_and_clock(self, knit_along):
        reader = make_user("Nell", zone="America/Toronto", units="imperial")
        with time_machine.travel(NOON - DAY, tick=False):
            page = words(signed_in(reader).get(knit_along.get_absolute_url()))
        assert "3.5 oz and 438 yd" in page
        assert "400 m" not in page
        assert "Mon 1 Mar 2027, 07:00</time>" in page
        assert "(12:00 in Europe/Lisbon)" in page

    @pytest.mark.parametrize(("language", "size"), [("en", "3.25 mm"), ("de", "3,25 mm")])
    def test_a_needle_is_not_rounded_to_one_that_does_not_exist(self, client, language, size):
        knit_along = make_knit_along(needle_mm="3.25")
        headers = {"accept-language": language}
        assert size in words(client.get(knit_along.get_absolute_url(), headers=headers))

    def test_a_participant_is_led_to_what_comes_next(self, as_kit, knit_along, kit):
        address = knit_along.get_absolute_url()
        with time_machine.travel(NOON - DAY, tick=False):
            assert "Start your palette" in words(as_kit.get(address))
        knit_along.palettes_closed_at = NOON - DAY
        knit_along.save()
        make_clue(knit_along, 1)
        with time_machine.travel(NOON, tick=False):
            page = words(as_kit.get(address))
        assert f'<a class="button" href="/k/{knit_along.slug}/clues/1/">Read clue 1</a>' in page

    def test_secret_titles_stay_secret_until_their_instant(self, client, knit_along):
        make_clue(knit_along, 1, title="Foghorn", title_is_secret=False)
        make_clue(knit_along, 2, title="Siren", release_at=NOON + DAY)
        with time_machine.travel(NOON + DAY - timedelta(seconds=1), tick=False):
            before = words(client.get(knit_along.get_absolute_url()))
        with time_machine.travel(NOON + DAY, tick=False):
            after = words(client.get(knit_along.get_absolute_url()))
        assert "Foghorn" in before
        assert "Siren" not in before
        assert "Tue 2 Mar 2027, 12:00" in before
        assert "Siren" in after

    @pytest.mark.parametrize(
        ("days", "state"),
        [(-70, "Come back when sign-up opens."), (0, "Anyone may join."), (31, "Sign-up is over.")],
    )
    def test_how_to_join_follows_the_window(self, client, knit_along, days, state):
        with time_machine.travel(NOON + days * DAY, tick=False):
            assert state in words(client.get(knit_along.get_absolute_url()))

    @pytest.mark.parametrize("who", ["client", "as_sam"])
    def test_a_hidden_one_does_not_exist_for_strangers(self, request, who):
        hidden = make_knit_along(is_public=False)
        assert request.getfixturevalue(who).get(hidden.get_absolute_url()).status_code == 404

    def test_once_sign_up_is_over_who_hosts_is_named_and_no_address(self, client, hana, sam):
        knit_along = hana.knit_along
        with time_machine.travel(knit_along.sign_up_closes_at, tick=False):
            page = words(client.get(knit_along.get_absolute_url()))
            join = words(signed_in(sam).get(f"/k/{knit_along.slug}/join/"))
        assert "Ask Hana, who hosts it, whether there is room." in page
        assert "It is hosted by Hana." in join
        assert hana.user.email not in page + join

    def test_a_hidden_one_is_open_to_its_participants_until_they_leave(self):
        hidden = make_knit_along(is_public=False)
        kit = make_participant(hidden)
        client = signed_in(kit.user)
        assert client.get(hidden.get_absolute_url()).status_code == 200
        kit.left_at = NOON
        kit.save()
        assert client.get(hidden.get_absolute_url()).status_code == 404

    def test_one_that_never_was(self, client):
        assert client.get("/k/nowhere/").status_code == 404

    def test_other_methods_are_refused(self, client, knit_along):
        assert client.post(knit_along.get_absolute_url()).status_code == 405

    def test_markup_in_a_theme_is_shown_as_typed(self, client):
        knit_along = make_knit_along(theme="<script>x</script>")
        assert "&lt;script&gt;x" in words(client.get(knit_along.get_absolute_url()))

    def test_the_number_of_clues_costs_no_queries(
        self, client, knit_along, django_assert_num_queries
    ):
        for number in range(1, 8):
            make_clue(knit_along, number)
        with django_assert_num_queries(3):  # knit-along, clues, needs
            client.get(knit_along.get_absolute_url())


class TestCreating:
    @pytest.mark.parametrize("who", ["as_sam", "as_hana"])
    def test_only_those_who_may_host_find_the_page(self, request, who):
        client = request.getfixturevalue(who)
        assert client.get("/new/").status_code == 404
        assert create(client).status_code == 404

    def test_a_visitor_is_asked_to_sign_in(self, client):
        assert client.get("/new/").headers["Location"] == "/sign-in/?next=/new/"

    def test_the_page_starts_in_the_organiser_s_own_zone(self, as_host):
        assert '<option value="Asia/Tokyo" selected>Tokyo' in words(as_host.get("/new/"))

    def test_its_footer_names_no_zone_of_a_knit_along_that_is_not_there_yet(self, as_host):
        page = as_host.get("/new/").content.decode()
        assert "Times are shown in" in page
        assert "Times of the schedule" not in page

    def test_makes_a_knit_along_with_its_schedule_and_goes_there(self, as_host, sam):
        response = create(as_host)
        assert response.headers["Location"] == "/k/harbour-lights/desk/clues/"
        made = KnitAlong.objects.get(slug="harbour-lights")
        assert made.participants.get().user == sam
        assert made.participants.get().role == Role.ORGANISER
        assert made.sign_up_opens_at == datetime(2027, 1, 15, 8, tzinfo=UTC)
        assert made.cast_on_at == datetime(2027, 3, 14, 18, tzinfo=UTC)
        assert made.audit_log.get().act == "created the knit-along"

    def test_clues_keep_the_wall_time_across_a_clock_change(self, as_host):
        """Lisbon's clocks go forward on 28 March 2027."""
        create(as_host)
        made = KnitAlong.objects.get(slug="harbour-lights")
        assert [f"{clue.release_at:%d %H}" for clue in made.clues.all()] == [
            *("14 18", "21 18", "28 17"),
            "04 17",
        ]

    def test_every_letter_needs_the_same_unless_told_otherwise(self, as_host):
        create(as_host, grams_C="100", metres_E="350")
        needs = {
            need.letter: (need.grams, need.metres)
            for need in KnitAlong.objects.get(slug="harbour-lights").needs.all()
        }
        common = (Decimal(50), Decimal("200.5"))
        assert needs == {
            "A": common,
            "B": common,
            "C": (Decimal(100), Decimal(401)),
            "D": common,
            "E": (Decimal("87.3"), Decimal(350)),
        }

    def test_an_amount_of_a_letter_left_empty_is_reckoned_from_its_other_and_told(self, as_host):
        """By hand: 105 m of 25 g are 4.2 m a gram, so 40 g are 168 m, and 63 m are 15 g."""
        changes = {"grams": "25", "metres": "105", "grams_E": "40", "metres_D": "63"}
        with time_machine.travel(TODAY, tick=False):
            page = words(as_host.post("/new/", GOOD | changes, follow=True))
            assert "Letter E: 40 g and 168 m. What you left empty was reckoned" in page
            assert "Letter D: 15 g and 63 m." in page
            assert "Letter A" not in page
            edit = words(as_host.get("/k/harbour-lights/desk/edit/"))
        assert 'name="grams_E" value="40"' in edit
        assert 'name="metres_E" value="168"' in edit

    def test_an_amount_that_cannot_be_reckoned_is_asked_for(self, as_host):
        response = create(as_host, grams="1", metres="20000", grams_E="40")
        assert response.status_code == 422
        assert "in proportion it would be 800000." in words(response)
        assert not KnitAlong.objects.exists()

    def test_the_page_s_own_gauge_is_not_warned_of(self, as_host):
        defaults = {"gauge_stitches": "24", "needle_mm": "3.5", "gauge_rows": "44"}
        with time_machine.travel(TODAY, tick=False):
            page = words(as_host.post("/new/", GOOD | defaults, follow=True))
        assert "outside the guideline" not in page

    def test_a_title_that_is_taken_gets_an_address_of_its_own(self, as_host):
        for expected in ("harbour-lights", "harbour-lights-2", "harbour-lights-3"):
            assert create(as_host).headers["Location"] == f"/k/{expected}/desk/clues/"

    @pytest.mark.parametrize("title", ["編み物", "???", "new " * 29])
    def test_any_title_makes_an_address(self, as_host, title):
        assert create(as_host, title=title).status_code == 302

    def test_what_falls_outside_the_guideline_is_told_and_allowed(self, as_host):
        with time_machine.travel(TODAY, tick=False):
            changes = {"gauge_stitches": "21", "needle_mm": "4.5"}
            page = words(as_host.post("/new/", GOOD | changes, follow=True))
            edited = GOOD | changes | {"title": "Harbour Lamps"}
            again = words(as_host.post("/k/harbour-lights/desk/edit/", edited, follow=True))
        assert "21 stitches to 10 cm is outside the guideline for Super Fine yarn" in page
        assert "4.5 mm is outside the guideline for Super Fine yarn, 2.25 to 3.25 mm" in page
        assert "The knit-along is saved." in again
        assert "outside the guideline" not in again

    @pytest.mark.parametrize(
        ("changes", "sentence"),
        [
            ({"title": " "}, "Give the knit-along a title."),
            ({"colour_count": "1"}, "A knit-along has 2 to 8 colours."),
            ({"colour_count": "9"}, "A knit-along has 2 to 8 colours."),
            ({"grams": "0"}, "A letter needs at least 1 gram."),
            ({"grams": "-50"}, "A letter needs at least 1 gram."),
            ({"metres": ""}, "Type how many metres one letter needs."),
            ({"metres": "lots"}, "Type the metres as a number, like 100."),
            ({"metres": "NaN"}, "Type the metres as a number, like 100."),
            ({"grams_B": "0"}, "A letter needs at least 1 gram."),
            ({"grams_F": "10"}, "With 5 colours there is no letter F; leave it empty."),
            ({"zone": "Europe/Atlantis"}, "Choose a time zone from the list."),
            ({"needle_mm": "0.5"}, "A needle is at least 1 mm thick."),
            ({"clue_count": "31"}, "A knit-along has at most 30 clues."),
            ({"clue_count": "0"}, "A knit-along has at least 1 clue."),
            ({"cadence_days": "0"}, "Clues go out at least 1 day apart."),
            ({"cast_on": "2027-01-10T08:59"}, "Cast-on is in the past"),
            ({"cast_on": ""}, "Choose a date and a time."),
            ({"cast_on": "soon"}, "That is not a date and time; write it like 2027-03-01 18:00."),
            ({"cast_on": "9999-12-31T23:59"}, "Choose a year from 2000 to 2100."),
            ({"cast_on": "2027-03-01T18:00+05:00"}, "That is not a date and time"),
            (
                {"cast_on": "2027-03-28T01:30"},
                "01:30 on 28 March 2027 does not exist in Europe/Lisbon",
            ),
            ({"sign_up_closes": "2027-01-15T08:00"}, "Sign-up must close after it opens."),
            ({"sign_up_closes": "2027-01-01T08:00"}, "Sign-up must close after it opens."),
        ],
    )
    def test_bad_input_is_one_sentence_and_loses_nothing(self, as_host, changes, sentence):
        response = create(as_host, **changes)
        assert response.status_code == 422
        page = words(response)
        assert page.count(sentence) == 2  # beside its field, and listed at the top
        assert page.index('class="form-errors faults"') < page.index(sentence)
        assert "Lamps seen across water." in page
        assert 'value="2027-03-20T20:00"' in page or "sign_up_closes" in changes
        assert not KnitAlong.objects.exists()
        assert not AuditEntry.objects.exists()

    def test_an_hour_that_comes_twice_means_its_first_coming(self, as_host):
        create(as_host, cast_on="2027-10-31T01:30")
        made = KnitAlong.objects.get(slug="harbour-lights")
        assert made.cast_on_at == datetime(2027, 10, 31, 0, 30, tzinfo=UTC)

    def test_letters_with_amounts_of_their_own_stay_open_after_an_error(self, as_host):
        assert "<details open> <summary>Letters" in words(create(as_host, grams_B="80", title=""))


class TestEditing:
    EDITED = {key: value for key, value in GOOD.items() if key not in {"cast_on", "clue_count"}}

    def address(self, knit_along) -> str:
        return f"/k/{knit_along.slug}/desk/edit/"

    def test_the_page_shows_what_is_stored_in_the_knit_along_s_zone(self, as_hana, hana):
        hana.knit_along.needs.filter(letter="B").update(grams=150)
        page = words(as_hana.get(self.address(hana.knit_along)))
        assert f'value="{hana.knit_along.title}"' in page
        assert 'value="2027-03-31T13:00"' in page  # 12:00 UTC, in summer time
        assert 'name="grams" value="100"' in page
        assert 'name="grams_B" value="150"' in page

    def test_changes_are_stored_and_logged(self, as_hana, hana):
        response = as_hana.post(self.address(hana.knit_along), self.EDITED)
        assert response.headers["Location"] == f"/k/{hana.knit_along.slug}/desk/"
        hana.knit_along.refresh_from_db()
        assert hana.knit_along.title == "Harbour Lights"
        assert hana.knit_along.sign_up_closes_at == datetime(2027, 3, 20, 20, tzinfo=UTC)
        assert hana.knit_along.needs.get(letter="A").grams == 50
        entry = hana.knit_along.audit_log.get()
        assert entry.act == "changed the knit-along"
        assert "title" in entry.detail["fields"]

    def test_the_address_and_the_clues_stay(self, as_hana, hana):
        knit_along = hana.knit_along
        make_clue(knit_along)
        before = (knit_along.slug, knit_along.cast_on_at, knit_along.clue_count)
        sent = self.EDITED | {"cast_on": "2028-01-01T10:00", "clue_count": "9"}
        as_hana.post(self.address(knit_along), sent)
        knit_along.refresh_from_db()
        assert (knit_along.slug, knit_along.cast_on_at, knit_along.clue_count) == before
        assert knit_along.clues.get().release_at == NOON

    def test_cast_on_follows_the_first_clue(self, hana):
        knit_along = hana.knit_along
        make_clue(knit_along, 1)
        make_clue(knit_along, 2)
        later = NOON + 2 * DAY
        change = Change(Ask.SHIFT, 1, days=2)
        make_change(knit_along, change, by=hana.user, now=TODAY)
        knit_along.refresh_from_db()
        assert knit_along.cast_on_at == later
        make_change(knit_along, Change(Ask.REMOVE, 1), by=hana.user, now=TODAY)
        knit_along.refresh_from_db()
        assert knit_along.cast_on_at == NOON + 7 * DAY

    def test_fewer_colours_drop_the_letters(self, as_hana, hana):
        as_hana.post(self.address(hana.knit_along), self.EDITED | {"colour_count": "3"})
        assert [need.letter for need in hana.knit_along.needs.all()] == ["A", "B", "C"]

    def test_the_number_of_colours_is_fixed_once_a_palette_is_registered(self, as_hana, hana, kit):
        Registration.objects.create(
            palette=make_palette(kit),
            knit_along=hana.knit_along,
            number=1,
            mean_lightness=50,
            registered_at=NOON,
        )
        page = words(as_hana.get(self.address(hana.knit_along)))
        assert "Palettes are registered, so the number of colours stays as it is." in page
        assert 'name="grams_E"' in page
        assert 'name="grams_F"' not in page
        as_hana.post(self.address(hana.knit_along), self.EDITED | {"colour_count": "3"})
        hana.knit_along.refresh_from_db()
        assert hana.knit_along.colour_count == 5

    def test_an_untouched_hour_that_comes_twice_keeps_its_second_coming(self, as_hana, hana):
        second = datetime(2027, 10, 31, 1, 30, tzinfo=UTC)
        hana.knit_along.sign_up_closes_at = second
        hana.knit_along.save()
        sent = self.EDITED | {"sign_up_closes": "2027-10-31T01:30"}
        as_hana.post(self.address(hana.knit_along), sent)
        hana.knit_along.refresh_from_db()
        assert hana.knit_along.sign_up_closes_at == second

    def test_bad_input_is_one_sentence_and_changes_nothing(self, as_hana, hana):
        sent = self.EDITED | {"sign_up_closes": "2027-01-01T08:00", "title": "Other"}
        response = as_hana.post(self.address(hana.knit_along), sent)
        assert response.status_code == 422
        assert words(response).count("Sign-up must close after it opens.") == 2
        assert 'value="Other"' in words(response)
        before = hana.knit_along.title
        hana.knit_along.refresh_from_db()
        assert hana.knit_along.title == before

    @pytest.mark.parametrize("role", [Role.CO_ORGANISER, Role.MODERATOR, Role.PARTICIPANT])
    def test_nobody_but_an_organiser_finds_the_page(self, knit_along, role):
        client = signed_in(make_participant(knit_along, role=role).user)
        assert client.get(self.address(knit_along)).status_code == 404
        assert client.post(self.address(knit_along), self.EDITED).status_code == 404

    def test_another_knit_along_s_organiser_is_a_stranger(self, as_hana):
        assert as_hana.get(self.address(make_knit_along())).status_code == 404

    def test_other_methods_are_refused(self, as_hana, hana):
        assert as_hana.delete(self.address(hana.knit_along)).status_code == 405


def test_the_form_comes_back_with_the_amounts_that_most_letters_take(as_hana, hana):
    hana.knit_along.needs.filter(letter="A").update(grams=150, metres=600)
    hana.knit_along.needs.exclude(letter="A").update(grams=100, metres=400)
    form = as_hana.get(f"/k/{hana.knit_along.slug}/desk/edit/").context["form"]
    assert (form["grams"].value(), form["metres"].value()) == (100, 400)
    own = {letter: grams.value() for letter, grams, _ in form.letter_rows() if grams.value()}
    assert own == {"A": 150}
