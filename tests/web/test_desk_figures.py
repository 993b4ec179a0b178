"""The desk's figures: what they count, their drawings, and their tables for a spreadsheet."""

import csv
import re
from datetime import timedelta
from io import StringIO

import pytest
from django.core.cache import cache

from kal.desk.people import joined_by_day
from kal.models import Participant, Role
from kal.plots import Bars, Line
from kal.views.desk_parts import FIGURES
from palettes.colour.audit import Verdict
from palettes.crowd_audit import audit_crowd
from palettes.desk import contrast_figure, families_figure
from schedule.desk.mail import mail_figure
from schedule.models import Notice
from tests.builders import NOON, make_clue, make_knit_along, make_participant, make_registration
from tests.conftest import signed_in
from tests.pages import words

DAY = timedelta(days=1)
SOUND, ONE_GREY, DARK = (20, 40, 60, 75, 92), (50, 51, 52, 53, 54), (12, 20, 28, 36, 44)


@pytest.fixture(autouse=True)
def empty_cache(db):
    cache.clear()


def figure(knit_along, name: str, rest: str = "") -> str:
    return f"/k/{knit_along.slug}/desk/figures/{name}/{rest}"


class TestCounts:
    def test_palettes_by_verdict_and_by_worst_pair(self):
        knit_along = make_knit_along()
        for number, levels in enumerate((SOUND, SOUND, ONE_GREY)):
            make_registration(make_participant(knit_along, f"Knitter {number}"), levels)
        found = audit_crowd(knit_along)
        assert found.verdicts == {Verdict.READY: 2, Verdict.LOOK_AGAIN: 0, Verdict.RETHINK: 1}
        assert (found.lack_an_end, found.few_greys, found.lack_calm) == (1, 1, 0)
        assert [row[2] for row in contrast_figure(knit_along, NOON).rows][-1] == 1

    def test_a_palette_registered_anew_is_counted_anew(self, django_assert_num_queries):
        knit_along = make_knit_along()
        kit = make_participant(knit_along)
        make_registration(kit, ONE_GREY)
        assert audit_crowd(knit_along).verdicts[Verdict.RETHINK] == 1
        before = audit_crowd(knit_along)
        with django_assert_num_queries(2):  # the state of the crowd, and the cache's own
            assert audit_crowd(knit_along) == before
        make_registration(kit, SOUND)
        assert audit_crowd(knit_along).verdicts[Verdict.RETHINK] == 0
        Participant.objects.filter(pk=kit.pk).update(left_at=NOON)
        assert audit_crowd(knit_along).palettes == 0

    def test_another_gauge_is_another_fabric(self):
        knit_along = make_knit_along()
        # Low rows blend sooner than tall ones.
        make_registration(make_participant(knit_along), (15, 35, 55, 75, 95))
        before = audit_crowd(knit_along).grades
        knit_along.gauge_stitches, knit_along.gauge_rows = 60, 120
        assert audit_crowd(knit_along).grades != before

    def test_families_count_chosen_yarns_only(self):
        knit_along = make_knit_along(colour_count=4)
        make_registration(make_participant(knit_along), SOUND, spares=1)
        found = families_figure(knit_along, NOON)
        assert [row[1] for row in found.rows if row[1]] == [4]
        assert found.rows[0] == ("neutral", 4, "100%")

    def test_days_are_those_of_the_knit_along_s_own_calendar(self):
        knit_along = make_knit_along(zone="Pacific/Auckland")
        for number, at in enumerate((NOON, NOON, NOON + 2 * DAY)):
            one = make_participant(knit_along, f"Knitter {number}")
            Participant.objects.filter(pk=one.pk).update(joined_at=at)
        found = joined_by_day(knit_along, NOON + 3 * DAY)
        # Noon UTC on 1 March is one in the morning of the 2nd there.
        assert found.rows == [("2 Mar 2027", 2, 2), ("4 Mar 2027", 1, 3)]
        assert isinstance(found.drawing, Line)
        assert [name.text for name in found.drawing.names] == ["2 Mar", "3 Mar", "4 Mar", "5 Mar"]
        assert found.summary == "3 people have joined; most on one day, 2, on 2 March 2027."

    def test_mail_by_clue(self):
        knit_along = make_knit_along()
        clue, kit = make_clue(knit_along, 1), make_participant(knit_along)
        edda = make_participant(knit_along, "Edda")
        owed = {"clue": clue, "kind": "clue-out", "try_after": NOON}
        Notice.objects.create(participant=kit, mail_id="a@b", sent_at=NOON, **owed)
        Notice.objects.create(participant=edda, mail_id="b@b", gave_up_at=NOON, **owed)
        found = mail_figure(knit_along, NOON)
        assert found.rows == [("Clue 1", 1, 0, 1)]
        assert isinstance(found.drawing, Bars)
        assert found.drawing.bars[0].words == "1 of 2"


@pytest.mark.parametrize("name", FIGURES)
class TestPage:
    def test_an_empty_crowd_is_said_and_not_drawn(self, as_hana, hana, name):
        Participant.objects.exclude(pk=hana.pk).delete()
        page = words(as_hana.get(figure(hana.knit_along, name)))
        assert f'id="figure-{name}"' in page
        assert not re.search(r"\bnan\b", page)  # as a word: a token may hold it by chance
        assert page.count("<svg") == 0

    def test_htmx_gets_the_figure_alone(self, as_hana, hana, name):
        page = words(as_hana.get(figure(hana.knit_along, name), headers={"HX-Request": "true"}))
        assert page.startswith(f'<section class="figure" id="figure-{name}"')
        assert "<html" not in page

    def test_a_crowd_costs_no_queries(self, as_hana, hana, django_assert_max_num_queries, name):
        for number in range(6):
            make_registration(make_participant(hana.knit_along, f"Knitter {number}"))
            make_clue(hana.knit_along, number + 1)
        # Session, user and membership; the state of the crowd and its rows; and ten of the
        # cache's own at most to keep what was reckoned.
        with django_assert_max_num_queries(15):
            page = words(as_hana.get(figure(hana.knit_along, name)))
        assert "<title>" in page

    def test_its_table_is_csv(self, as_hana, hana, name):
        make_registration(make_participant(hana.knit_along, "Otto"))
        answer = as_hana.get(figure(hana.knit_along, name, "table/"))
        assert answer.headers["Content-Type"].startswith("text/csv")
        heading, *rows = csv.reader(StringIO(answer.content.decode().removeprefix("\ufeff")))
        assert all(len(row) == len(heading) for row in rows)

    @pytest.mark.parametrize("rest", ["", "table/"])
    def test_nobody_but_an_organiser(self, as_sam, knit_along, name, rest):
        address = figure(knit_along, name, rest)
        assert as_sam.get(address).status_code == 404
        for role in (Role.CO_ORGANISER, Role.MODERATOR, Role.PARTICIPANT):
            client = signed_in(make_participant(knit_along, "Otto", role).user)
            assert client.get(address).status_code == 404


def test_a_figure_that_never_was(as_hana, hana):
    assert as_hana.get(figure(hana.knit_along, "nothing")).status_code == 404
    assert as_hana.get(figure(hana.knit_along, "nothing", "table/")).status_code == 404


def test_the_desk_leads_to_each_figure_without_script(as_hana, hana):
    page = as_hana.get(f"/k/{hana.knit_along.slug}/desk/").content.decode()
    for name in FIGURES:
        assert f'href="{figure(hana.knit_along, name)}"' in page
