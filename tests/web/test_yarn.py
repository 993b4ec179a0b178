"""A participant weighs their yarn: what is kept, what is refused, and what they are told."""

from datetime import timedelta
from decimal import Decimal
from itertools import count as counter

import pytest
import time_machine
from django.core.cache import cache

from kal.models import LetterNeed, Role, User
from schedule.models import ClueSection, CountedPart, LetterUse, OwnKnitting, WeighIn
from schedule.weighing import crowd_of, crowd_usages
from tests.builders import (
    NOON,
    make_clue,
    make_knit_along,
    make_palette,
    make_participant,
    make_yarn,
)
from tests.conftest import signed_in
from tests.pages import words

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def clock():
    cache.clear()
    with time_machine.travel(NOON + timedelta(days=8), tick=False) as traveller:
        yield traveller


@pytest.fixture
def harbour(knit_along, kit):
    """Two clues of four are out; A takes 30 and 20 g of them, B 10 g of clue 2. Kit has 100 g each.

    110 g are asked for of each letter: 100 and the usual tenth.
    """
    LetterNeed.objects.filter(knit_along=knit_along).update(grams=110, metres=440)
    for number in (1, 2, 3, 4):
        make_clue(knit_along, number)
    use(knit_along, 1, A=30)
    use(knit_along, 2, A=20, B=10)
    use(knit_along, 3, A=7, E=Decimal("77.7"))
    palette = make_palette(kit)
    for position in range(5):
        make_yarn(palette, place="chosen", position=position, name=f"Yarn {position}")
    return knit_along


def use(knit_along, number, **grams):
    revision = knit_along.clues.get(number=number).revisions.latest("number")
    for letter, weight in grams.items():
        LetterUse.objects.create(revision=revision, letter=letter, grams=weight)


def address(knit_along, page=""):
    return f"/k/{knit_along.slug}/yarn/{page}"


def typed(knit_along, number=1, **fields):
    clue = knit_along.clues.get(number=number).pk if number else "before"
    return {"letter": "A", "left": "70", "clue": clue, "share": "1"} | fields


def text_of(response, status=200):
    assert response.status_code == status
    return words(response)


def test_a_weigh_in_is_one_number(as_kit, harbour, kit):
    response = as_kit.post(address(harbour), typed(harbour, left="68,5"))
    assert (response.status_code, response.url) == (302, f"{address(harbour)}#letter-A")
    kept = WeighIn.objects.get()
    assert (kept.participant, kept.letter, kept.left) == (kit, "A", Decimal("68.5"))
    assert kept.bought == 100
    assert kept.division == 1
    assert kept.clue == harbour.clues.get(number=1)
    assert kept.at == NOON + timedelta(days=8)
    page = text_of(as_kit.get(address(harbour)))
    assert "end of clue 1" in page
    assert "1 weigh-in" in page


def test_the_latest_clue_and_the_colour_weighed_longest_ago_are_chosen_already(as_kit, harbour):
    """Clue 2 takes A and B; once A is weighed it is B's turn."""
    form = as_kit.get(address(harbour)).context["form"]
    assert form["clue"].value() == str(harbour.clues.get(number=2).pk)
    assert (form["letter"].value(), form["share"].value()) == ("A", "1")
    as_kit.post(address(harbour), typed(harbour, 2, left="52"))
    assert as_kit.get(address(harbour)).context["form"]["letter"].value() == "B"
    chosen = as_kit.get(address(harbour), {"letter": "C"}).context["form"]["letter"].value()
    assert chosen == "C"


def test_half_a_gram_that_a_scale_showed_is_shown(as_kit, harbour):
    as_kit.post(address(harbour), typed(harbour, left="48.5"))
    assert "48.5\N{NO-BREAK SPACE}g" in as_kit.get(address(harbour)).content.decode()


def test_ounces_come_back_as_they_were_typed(as_kit, harbour, kit):
    User.objects.filter(pk=kit.user_id).update(units="imperial")
    as_kit.post(address(harbour), typed(harbour, left="2.45"))
    kept = WeighIn.objects.get()
    assert kept.left == Decimal("69.456")  # 2.45 x 28.349523125 exactly, to a milligram
    page = as_kit.get(address(harbour, f"weigh-ins/{kept.pk}/")).content.decode()
    assert 'value="2.45"' in page


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"left": ""}, "Type what the scale says."),
        ({"left": "a lot"}, "Type a number, like 42 or 42.5."),
        ({"left": "-1"}, "A weight cannot be less than nothing."),
        ({"left": "6000"}, "More than 5000 g of one colour; look at it again."),
        ({"left": "1e999999"}, "More than 5000 g of one colour; look at it again."),
        ({"left": "Infinity"}, "Type a number, like 42 or 42.5."),
        ({"left": "NaN"}, "Type a number, like 42 or 42.5."),
        ({"letter": ""}, "Say which colour is on the scale."),
        ({"letter": "Z"}, "This knit-along has no colour Z; its letters are A B C D E."),
        ({"clue": "999999"}, "Choose a clue that is out."),
        ({"share": "3"}, "Select a valid choice."),
        ({"row": "-4"}, "Ensure this value is greater than or equal to 0."),
        ({"left": "120"}, "120 g of A left is more than the 100 g you had in all."),
        ({"bought": "0"}, "It must be more than nothing."),
    ],
)
def test_refuses_what_cannot_be_and_keeps_what_was_typed(as_kit, harbour, fields, words):
    response = as_kit.post(address(harbour), typed(harbour, **fields))
    assert words in text_of(response, 422)
    assert not WeighIn.objects.exists()
    data = typed(harbour, **fields)
    assert response.context["form"]["left"].value() == data["left"]


def test_yarn_does_not_grow_unless_more_was_bought(as_kit, harbour):
    as_kit.post(address(harbour), typed(harbour, 1, left="70"))
    page = text_of(as_kit.post(address(harbour), typed(harbour, 2, left="90")), 422)
    assert "90 g of A left does not go with your other weigh-ins of it (70 g left)" in page
    more = typed(harbour, 2, left="98", bought="150")
    assert as_kit.post(address(harbour), more).status_code == 302
    assert [each.bought for each in WeighIn.objects.all()] == [100, 150]
    later = typed(harbour, 2, left="97")
    assert as_kit.post(address(harbour), later).status_code == 302
    assert WeighIn.objects.latest("pk").bought == 150


def test_a_palette_without_ball_bands_asks_for_what_was_bought(as_kit, harbour, kit):
    kit.palette.yarns.update(put_up_grams=None)
    page = text_of(as_kit.post(address(harbour), typed(harbour)), 422)
    assert "Your palette does not say how much A weighs; put in all you bought of it." in page
    assert "<details open>" in page
    assert as_kit.post(address(harbour), typed(harbour, bought="100")).status_code == 302


def test_a_palette_of_a_hundred_kilograms_is_refused(as_kit, harbour, kit):
    kit.palette.yarns.update(put_up_grams=1000, balls=100)
    page = text_of(as_kit.post(address(harbour), typed(harbour)), 422)
    assert "More than 5000 g of one colour; look at it again." in page


def test_a_ball_may_weigh_a_little_more_than_its_band_before_casting_on(as_kit, harbour):
    assert as_kit.post(address(harbour), typed(harbour, 0, left="104")).status_code == 302
    assert WeighIn.objects.get().clue is None


def test_a_weigh_in_is_corrected_and_deleted_by_its_owner_alone(as_kit, as_hana, as_sam, harbour):
    as_kit.post(address(harbour), typed(harbour))
    pk = WeighIn.objects.get().pk
    own = address(harbour, f"weigh-ins/{pk}/")
    for other in (as_hana, as_sam):
        assert other.get(own).status_code == 404
        assert other.post(own, typed(harbour, left="1")).status_code == 404
        assert other.post(f"{own}remove/").status_code == 404
    assert 'value="70"' in as_kit.get(own).content.decode()
    assert "more than the 100 g" in text_of(as_kit.post(own, typed(harbour, left="170")), 422)
    assert as_kit.post(own, typed(harbour, left="66")).status_code == 302
    assert WeighIn.objects.get().left == 66
    assert as_kit.get(f"{own}remove/").status_code == 405
    assert as_kit.post(f"{own}remove/").status_code == 302
    assert not WeighIn.objects.exists()
    assert as_kit.get(own).status_code == 404


def forecast_of(client, knit_along, letter="A"):
    page = client.get(address(knit_along)).context["page"]
    return next(each for each in page.letters if each.letter == letter)


def test_the_forecast_moves_with_each_weigh_in(as_kit, harbour):
    """The plan has 30 and 20 of 100 g; Kit takes 36 and 24, a fifth more."""
    before = forecast_of(as_kit, harbour)
    assert (before.forecast.planned_left, before.forecast.ground) == (100, "plan")
    as_kit.post(address(harbour), typed(harbour, 1, left="64"))
    first = forecast_of(as_kit, harbour)
    assert (first.forecast.planned_left, first.forecast.ground) == (70, "own")
    assert first.forecast.rate > 1.05
    as_kit.post(address(harbour), typed(harbour, 2, left="40"))
    second = forecast_of(as_kit, harbour)
    assert second.forecast.rate > first.forecast.rate
    assert (second.forecast.planned_left, second.level) == (50, "likely short")
    width = [(each.high - each.low) / each.need for each in (first.forecast, second.forecast)]
    assert width[1] < width[0]
    page = text_of(as_kit.get(address(harbour)))
    assert "Look at this while there is time" in page
    assert "Get 1 more ball of A while it can be had" in page
    assert page.count('class="spark-dot"') == 2


def test_nobody_who_has_what_is_asked_for_is_told_to_buy_more_before_weighing(as_kit, harbour):
    harbour.needs.update(grams=100, metres=400)
    page = text_of(as_kit.get(address(harbour)))
    assert "weigh it" in page
    assert "Weigh B at the end of this clue" in page
    assert "Look at this while there is time" not in page
    assert "Get 1 more ball" not in page


def test_a_weigh_in_that_is_too_early_to_tell_is_told_so(as_kit, harbour):
    """Clue 2 takes 10 of B's 100 g, less than the eighth from which a stretch counts."""
    as_kit.post(address(harbour), typed(harbour, 2, letter="B", left="88"))
    assert forecast_of(as_kit, harbour, "B").forecast.ground == "too-early"
    page = text_of(as_kit.get(address(harbour)))
    assert "too little of this colour is knitted yet for your weigh-in to tell" in page
    assert "Weigh B again after the next clue" in page
    assert "Weigh A at the end of this clue" in page


def test_the_forecast_is_of_ones_own_yarn_as_what_it_takes_is(as_kit, harbour, kit):
    """The pattern has 4 m in a gram, this yarn 210 / 25 = 8.4: 100 g become 400 / 8.4 = 47.6 g."""
    kit.palette.yarns.filter(position=0).update(put_up_grams=25, put_up_metres=210, balls=2)
    mine = forecast_of(as_kit, harbour)
    assert mine.forecast.planned_left == pytest.approx(400 / 8.4)
    assert "the rest takes about <strong>48 g</strong>" in text_of(as_kit.get(address(harbour)))
    assert "<strong>48 g</strong>, 400 m" in text_of(as_kit.get(address(harbour, "needed/")))
    # Clue 1 takes 30 g by the plan, 14.3 g of this yarn: who used those knits as the plan has it.
    as_kit.post(address(harbour), typed(harbour, 1, left="35.7"))
    mine = forecast_of(as_kit, harbour)
    assert mine.forecast.rate == pytest.approx(1, abs=0.01)
    assert mine.forecast.need == pytest.approx(70 * 4 / 8.4, rel=0.01)


def test_rows_count_where_they_are_entered(as_kit, harbour):
    """Clue 1 has 10 rows of A and 10 of B, all alike: after row 5 half of its A is knitted."""
    section = ClueSection.objects.create(
        revision=harbour.clues.get(number=1).revisions.get(), position=1
    )
    rows = {"section": section, "start": 50, "rows": 10}
    CountedPart.objects.create(position=1, letters="A", **rows)
    CountedPart.objects.create(position=2, letters="B", **rows)
    as_kit.post(address(harbour), typed(harbour, 1, left="85", row="5"))
    assert forecast_of(as_kit, harbour).forecast.planned_left == pytest.approx(100 - 15)
    as_kit.post(address(harbour), typed(harbour, 1, left="69", row="999"))
    assert forecast_of(as_kit, harbour).forecast.planned_left == pytest.approx(100 - 30)


def test_before_all_clues_are_out_only_what_is_public_is_reckoned_with(as_kit, harbour, clock):
    """Clue 3 takes 7 g of A and 77.7 g of E, which is known once all four are out and say so."""
    assert forecast_of(as_kit, harbour, "E").forecast.planned_left == 100
    assert "77.7" not in as_kit.get(address(harbour, "needed/")).content.decode()
    clock.move_to(NOON + timedelta(days=30))
    assert forecast_of(as_kit, harbour, "E").forecast.planned_left == 100
    use(harbour, 4, B=5)
    assert forecast_of(as_kit, harbour, "E").forecast.planned_left == pytest.approx(77.7)
    assert forecast_of(as_kit, harbour, "D").forecast.planned_left == 0


def test_released_clues_that_take_more_than_was_asked_for_are_believed(as_kit, harbour):
    LetterNeed.objects.filter(knit_along=harbour, letter="A").update(grams=44)
    as_kit.post(address(harbour), typed(harbour, 2, left="52"))
    made = forecast_of(as_kit, harbour)
    assert (made.forecast.planned_left, made.level) == (0, "enough")


def test_an_unfinished_clue_counts_in_part(as_kit, harbour):
    as_kit.post(address(harbour), typed(harbour, 2, left="60", share="0.5"))
    assert forecast_of(as_kit, harbour).forecast.planned_left == 100 - 30 - 10


def weighed(knit_along, clue, left, role=Role.PARTICIPANT, letter="A", **fields):
    person = make_participant(knit_along, f"Crowd {next(numbers)}", role, **fields)
    return WeighIn.objects.create(
        participant=person, letter=letter, clue=clue, left=left, bought=100, at=NOON
    )


numbers = counter(1)


def test_the_crowd_steadies_a_knitter_who_never_weighed(as_kit, harbour, clock):
    clue = harbour.clues.get(number=1)
    for left in (66, 67, 68, 67, 66, 68):
        weighed(harbour, clue, left)
    made = forecast_of(as_kit, harbour)
    assert made.forecast.ground == "crowd"
    assert 1.02 < made.forecast.rate < 1.1
    crowd = crowd_of(harbour, NOON + timedelta(days=8))
    assert crowd.rates["A"].size == 6


def test_the_crowd_leaves_out_those_who_left_and_clues_that_are_not_out(harbour):
    now = NOON + timedelta(days=8)
    weighed(harbour, harbour.clues.get(number=1), 66, left_at=NOON)
    for _ in range(3):
        weighed(harbour, harbour.clues.get(number=3), 20, Role.CO_ORGANISER, letter="E")
    assert crowd_of(harbour, now).rates == {}


def test_a_crowd_is_read_in_one_query_of_weigh_ins(harbour, django_assert_num_queries):
    """The six others are those of the plan: needs, reserve, clues, uses, parts and their number."""
    for _ in range(20):
        weighed(harbour, harbour.clues.get(number=1), 66)
    with django_assert_num_queries(1 + 6):
        assert len(crowd_usages(harbour, NOON + timedelta(days=8))) == 20


def test_the_crowd_is_read_anew_after_ten_minutes_and_not_before(harbour, clock):
    now = NOON + timedelta(days=8)
    clue = harbour.clues.get(number=1)
    assert crowd_of(harbour, now).rates == {}
    for _ in range(3):
        weighed(harbour, clue, 66)
    clock.shift(timedelta(minutes=9))
    assert crowd_of(harbour, now).rates == {}
    clock.shift(timedelta(minutes=2))
    assert crowd_of(harbour, now).rates["A"].size == 3


def test_the_page_takes_as_many_queries_after_many_weigh_ins(
    as_kit, harbour, kit, django_assert_num_queries
):
    as_kit.get(address(harbour))
    clue = harbour.clues.get(number=1)
    for left in range(70, 60, -1):
        WeighIn.objects.create(
            participant=kit, letter="A", clue=clue, left=left, bought=100, at=NOON
        )
    with django_assert_num_queries(17):
        as_kit.get(address(harbour))


@pytest.mark.parametrize(
    ("part", "queries"), [("yarn/needed/", 17), ("yarn/pace/", 6), ("desk/yarn/", 11)]
)
def test_a_page_takes_as_many_queries_for_more_clues(
    as_kit, as_hana, harbour, part, queries, django_assert_num_queries
):
    client = as_hana if part.startswith("desk") else as_kit
    where = f"/k/{harbour.slug}/{part}"
    client.get(where)
    LetterUse.objects.all().delete()
    for number in (1, 2, 3, 4):
        use(harbour, number, A=10, B=10, C=10)
    with django_assert_num_queries(queries):
        client.get(where)


def test_an_erratum_that_makes_weigh_ins_disagree_spoils_no_other_letter(as_kit, harbour, kit):
    clue = harbour.clues.get(number=1)
    for left, share in ((70, 1), (90, "0.5")):
        WeighIn.objects.create(
            participant=kit, letter="A", clue=clue, share=share, left=left, bought=80, at=NOON
        )
    page = text_of(as_kit.get(address(harbour)))
    assert "90 g of A left, but 80 g bought." in page
    assert "Correct or delete one of the weigh-ins below." in page
    assert forecast_of(as_kit, harbour, "B").forecast is not None
    User.objects.filter(pk=kit.user_id).update(units="imperial")
    assert "3.17 oz of A left, but 2.82 oz bought." in text_of(as_kit.get(address(harbour)))


@pytest.mark.parametrize(
    ("number", "left", "sentence"),
    [
        (1, "-1", "A weight cannot be less than nothing."),
        (1, "200", "More than 176.4 oz of one colour; look at it again."),
        (1, "3.57", "3.57 oz of A left is more than the 3.53 oz you had in all."),
        (2, "3.2", "3.2 oz of A left does not go with your other weigh-ins of it (2.47 oz left)"),
    ],
)
def test_who_weighs_in_ounces_is_refused_in_ounces(as_kit, harbour, kit, number, left, sentence):
    """100 g are 3.527 oz and 70 g 2.469 oz at 28.349523125 g (NIST Handbook 44, appendix C)."""
    User.objects.filter(pk=kit.user_id).update(units="imperial")
    if number == 2:
        first = harbour.clues.get(number=1)
        WeighIn.objects.create(
            participant=kit, letter="A", clue=first, left=70, bought=100, at=NOON
        )
    page = text_of(as_kit.post(address(harbour), typed(harbour, number, left=left)), 422)
    assert sentence in page
    assert " g of" not in page


def test_own_gauge_and_needle_change_what_it_takes(as_kit, harbour, kit):
    """24 stitches and 44 rows planned; 22 and 40 of one's own take sqrt(24 x 44 / (22 x 40))."""
    page = text_of(as_kit.get(address(harbour, "needed/")))
    assert "<strong>100 g</strong>, 400 m" in page
    assert page.count("; what is asked for)") == 5  # no test knit may be told of yet
    sent = {"gauge_stitches": "22", "gauge_rows": "40", "division": "0.1"}
    assert as_kit.post(address(harbour, "needed/"), sent).status_code == 302
    assert OwnKnitting.objects.get().division == Decimal("0.1")
    page = text_of(as_kit.get(address(harbour, "needed/")))
    assert "<strong>110 g</strong>, 439 m" in page
    assert "scaled to your gauge" in page
    assert "3 balls with 10 % in reserve. <strong>1 more to buy.</strong>" in page
    as_kit.post(address(harbour), typed(harbour))
    assert WeighIn.objects.get().division == Decimal("0.1")


@pytest.mark.parametrize(
    ("sent", "words"),
    [
        ({"gauge_stitches": "0"}, "It must be 2 or more."),
        ({"needle_mm": "0"}, "It must be 1 or more."),
        ({"gauge_rows": "40"}, "Give your stitches to 10 cm beside the rows."),
        ({"division": "3"}, "Select a valid choice."),
    ],
)
def test_a_gauge_of_nothing_is_refused(as_kit, harbour, sent, words):
    page = as_kit.post(address(harbour, "needed/"), {"division": "1"} | sent)
    assert words in text_of(page, 422)
    assert not OwnKnitting.objects.exists()


def test_two_kinds_of_ball_are_mixed_with_the_least_left_over(as_kit, harbour):
    """380 m: two of 105 and one of 175 leave 5 m; the best of one kind alone leave 40."""
    page = as_kit.get(address(harbour, "needed/"), {"need": 380, "first": 105, "second": 175})
    assert "2 of the first kind and 1 of the other." in text_of(page)
    wrong = as_kit.get(address(harbour, "needed/"), {"need": 380, "first": 0, "second": 175})
    assert "It must be 1 or more." in text_of(wrong, 422)


def test_pace_is_timed_once_and_can_be_forgotten(as_kit, harbour):
    assert "Reckoned with 25 stitches a minute" in text_of(as_kit.get(address(harbour, "pace/")))
    assert (
        as_kit.post(address(harbour, "pace/"), {"stitches": "120", "minutes": "4"}).status_code
        == 302
    )
    assert "You knit about 30 stitches a minute." in text_of(as_kit.get(address(harbour, "pace/")))
    as_kit.post(address(harbour, "pace/"), {"forget": "yes"})
    assert "Reckoned with 25" in text_of(as_kit.get(address(harbour, "pace/")))


def test_a_pace_nobody_has_is_refused(as_kit, harbour):
    page = as_kit.post(address(harbour, "pace/"), {"stitches": "9000", "minutes": "1"})
    assert "That is 9000.0 stitches a minute; between 1 and 200 can be believed." in text_of(
        page, 422
    )


def test_the_organiser_reads_what_to_ask_for(as_hana, harbour):
    use(harbour, 4, C=100)
    page = text_of(as_hana.get(f"/k/{harbour.slug}/desk/yarn/"))
    assert "93 %" in page  # A: 110 g asked for, 57 g taken
    assert "fine as it is" in page
    LetterNeed.objects.filter(knit_along=harbour, letter="C").update(grams=105)
    assert "<strong>110 g</strong>" in text_of(as_hana.get(f"/k/{harbour.slug}/desk/yarn/"))


def test_the_reserve_is_logged_and_changes_the_whole_that_is_reckoned_with(
    as_hana, as_kit, harbour
):
    assert as_hana.post(f"/k/{harbour.slug}/desk/yarn/", {"percent": "0"}).status_code == 302
    entry = harbour.audit_log.get(act="named the yarn reserve")
    assert entry.detail["after"] == "0 %"
    assert forecast_of(as_kit, harbour).forecast.planned_left == 110
    assert as_hana.post(f"/k/{harbour.slug}/desk/yarn/", {"percent": "-3"}).status_code == 422
    assert as_kit.post(f"/k/{harbour.slug}/desk/yarn/", {"percent": "5"}).status_code == 404


def test_the_organiser_sees_how_the_crowd_gets_on(as_hana, harbour):
    for left in (66, 67, 40):
        weighed(harbour, harbour.clues.get(number=1), left)
    page = text_of(as_hana.get(f"/k/{harbour.slug}/desk/yarn/"))
    assert "3 people have weighed." in page


def test_a_knit_along_of_another_has_none_of_these_pages(as_sam, client, harbour):
    for page in ("", "needed/", "pace/"):
        assert as_sam.get(address(harbour, page)).status_code == 404
        assert client.get(address(harbour, page)).status_code == 302


def test_a_clue_of_another_knit_along_is_no_place(as_kit, harbour):
    other = make_clue(make_knit_along(), 1)
    assert "Choose a clue that is out." in text_of(
        as_kit.post(address(harbour), typed(harbour, clue=other.pk)), 422
    )


def test_an_early_reader_weighs_in_hidden_clues(harbour):
    edda = make_participant(harbour, "Edda", Role.CO_ORGANISER)
    client = signed_in(edda.user)
    sent = typed(harbour, 3, letter="E", left="30", bought="100")
    assert client.post(address(harbour), sent).status_code == 302
    assert WeighIn.objects.get().clue == harbour.clues.get(number=3)


def test_what_is_archived_is_read_and_no_more(as_kit, harbour):
    as_kit.post(address(harbour), typed(harbour))
    harbour.archived_at = NOON
    harbour.save()
    page = text_of(as_kit.get(address(harbour)))
    assert "end of clue 1" in page
    assert "Note it" not in page
    assert as_kit.post(address(harbour), typed(harbour)).status_code == 409
    assert WeighIn.objects.count() == 1


def test_the_desk_names_those_who_will_run_short_once_that_is_known(
    as_hana, as_kit, harbour, clock
):
    desk = f"/k/{harbour.slug}/desk/"
    clock.move_to(NOON + timedelta(days=8))
    for left in (20, 22, 95):
        weighed(harbour, harbour.clues.get(number=1), left)
    told = "2 people are likely to run short of a letter, by what they weighed."
    assert told not in text_of(as_hana.get(desk))
    as_hana.get(f"{desk}figures/yarn/")
    page = text_of(as_hana.get(desk))
    assert told in page
    assert f'<a href="{desk}yarn/">See which letters</a>' in page
    WeighIn.objects.all().delete()
    as_hana.get(f"{desk}figures/yarn/")
    assert "likely to run short" not in text_of(as_hana.get(desk)).split("figure-yarn")[0]
    assert as_kit.get(desk).status_code == 404
