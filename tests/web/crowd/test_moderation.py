"""Reports, hiding, blocking: who may, what everybody sees of it, and that each act is undone."""

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from kal.models import AuditEntry, Role
from schedule.models import Post, PostingBlock, Question, Report, Unveiling
from tests.builders import (
    NOON,
    make_answer,
    make_clue,
    make_knit_along,
    make_participant,
    make_post,
    make_question,
)
from tests.conftest import signed_in
from tests.web.crowd.pages import WEEK, at, page


def acts():
    return list(AuditEntry.objects.order_by("pk").values_list("act", flat=True))


def moderate(client, thing, act, **fields):
    kind = type(thing).__name__.lower()
    address = at(thing.clue.knit_along, "moderate", kind, thing.key)
    return client.post(address, {"act": act, **fields})


def report(client, thing, reason="It is rude."):
    kind = type(thing).__name__.lower()
    address = at(thing.clue.knit_along, "report", kind, thing.key)
    return client.post(address, {"reason": reason})


def test_a_moderator_s_whole_day(
    as_kit, as_mia, as_mo, as_hana, kit, mia, mo, knit_along, clues, clock
):
    """Three reports come in; one is hidden, one moved, one dismissed; somebody is blocked."""
    rude = make_post(mia, clues[0], words="Canary rudeness.")
    spoiler = make_post(mia, clues[0], words="Canary: clue 3 ends in a moth!")
    question = make_question(mia, clues[1], words="Fair question?")
    answer = make_answer(mia, question, words="Canary advert, buy here.")
    for number in (1, 2):
        as_kit.get(at(knit_along, "clue", number))
    queue, progress = at(knit_along, "moderation"), at(knit_along, "progress")
    assert "Nothing waits to be looked at." in page(as_mo, queue)

    # Morning: reports, each by whoever was annoyed, one of them twice.
    report(as_kit, rude, "Rude to me.")
    report(as_kit, rude, "Rude, I say.")
    report(as_hana, spoiler, "That is clue 3.")
    report(as_kit, question, "I do not like it.")
    assert Report.objects.count() == 3
    shown = page(as_mo, queue)
    assert shown.index("Rude to me.") < shown.index("That is clue 3.")
    assert 'href="/k/' in shown

    # She reads the post, hides it with a reason, and it is gone for all but its author.
    moderate(as_mo, rude, "hide", reason="We are kind here.")
    assert "Canary rudeness." not in page(as_kit, progress)
    assert as_kit.get(at(knit_along, "post", rude.key)).status_code == 404
    own = page(as_mia, at(knit_along, "post", rude.key))
    assert "Canary rudeness." in own
    assert "A moderator has hidden it: We are kind here." in own

    # What was tagged too low gets the right cover before it.
    moderate(as_mo, spoiler, "retag", number="3")
    moderate(as_mo, spoiler, "dismiss")
    covered = page(as_kit, progress)
    assert "A post about clue 3, which you have not opened" in covered
    assert "moth" not in covered

    # A fair question stays as it is.
    moderate(as_mo, question, "dismiss")
    assert "Nothing waits to be looked at." in page(as_mo, queue)
    assert "Fair question?" in page(as_kit, at(knit_along, "questions"))

    # An advert nobody reported goes too, and so does its author for now.
    moderate(as_mo, answer, "hide", reason="No adverts.")
    moderate(as_mo, answer, "block", reason="Third advert this week.")
    assert "Canary advert" not in page(as_kit, at(knit_along, "question", question.key))
    refused = as_mia.post(at(knit_along, "new_post"), {"about": "1", "words": "Hello again"})
    assert refused.status_code == 422
    assert "Third advert this week." in refused.content.decode()
    assert "Hello again" in refused.content.decode()
    for name, arguments in (("ask", ()), ("answer_question", (question.key,))):
        sent = {"about": "1", "words": "Hello again"}
        assert as_mia.post(at(knit_along, name, *arguments), sent).status_code == 422

    # Evening: Mia has written to say sorry, and everything is undone.
    assert "We are kind here." in page(as_mo, f"{queue}?list=hidden") or "Rude to me." in page(
        as_mo, f"{queue}?list=hidden"
    )
    moderate(as_mo, rude, "restore")
    moderate(as_mo, answer, "restore")
    assert "Third advert this week." in page(as_mo, f"{queue}?list=blocked")
    as_mo.post(at(knit_along, "lift_block", mia.pk))
    moderate(as_mo, spoiler, "retag", number="1")
    moderate(as_mo, question, "reopen")
    assert "Canary rudeness." in page(as_kit, progress)
    assert "moth" in page(as_kit, progress)
    assert "Canary advert" in page(as_kit, at(knit_along, "question", question.key))
    assert "I do not like it." in page(as_mo, queue)
    again = as_mia.post(at(knit_along, "new_post"), {"about": "1", "words": "Hello again"})
    assert again.status_code == 302

    # And the organiser reads all of it in the log, with who, whom and why.
    assert acts() == [
        "hid a post",
        "moved a post to another clue",
        "dismissed reports of a post",
        "dismissed reports of a question",
        "hid an answer",
        "blocked somebody from posting",
        "showed a hidden post again",
        "showed a hidden answer again",
        "let somebody post again",
        "moved a post to another clue",
        "reopened reports of a question",
    ]
    log = page(as_hana, reverse("kal:audit_log", args=[knit_along.slug]))
    for words in ("Mo", "person: Mia", "why: We are kind here.", "clue: 1"):
        assert words in log
    assert set(AuditEntry.objects.values_list("actor", flat=True)) == {mo.user_id}


@pytest.mark.parametrize("list_name", ["open", "hidden", "dismissed", "blocked"])
def test_the_queue_is_for_those_who_moderate(as_kit, as_mo, as_hana, knit_along, clues, list_name):
    edda = signed_in(make_participant(knit_along, "Edda", Role.CO_ORGANISER).user)
    address = f"{at(knit_along, 'moderation')}?list={list_name}"
    for client in (as_kit, edda):
        assert client.get(address).status_code == 404
    for client in (as_mo, as_hana):
        assert client.get(address).status_code == 200
    assert as_mo.get(f"{at(knit_along, 'moderation')}?list=all").status_code == 404


def test_other_people_s_and_other_knit_alongs_things_are_out_of_reach(
    as_kit, as_mia, as_mo, hana, mia, knit_along, clues
):
    """Every form is tried with ids of others: nothing is found, and nothing changes."""
    elsewhere = make_knit_along()
    far = make_participant(elsewhere, "Far")
    foreign = make_clue(elsewhere, 1)
    things = [
        make_post(far, foreign),
        question := make_question(far, foreign),
        make_answer(far, question),
    ]
    for thing in things:
        kind = type(thing).__name__.lower()
        for name in ("report", "moderate"):
            address = at(knit_along, name, kind, thing.key)
            assert as_mo.get(address).status_code == 404
            assert as_mo.post(address, {"reason": "x", "act": "hide"}).status_code == 404
            home = at(elsewhere, name, kind, thing.key)
            assert as_mo.post(home, {"reason": "x", "act": "hide"}).status_code == 404
    for name in ("show_post", "remove_post"):
        assert as_kit.post(at(knit_along, name, things[0].key)).status_code == 404
    for name in ("show_question", "remove_question", "answer_question"):
        sent = {"words": "x"}
        assert as_kit.post(at(knit_along, name, things[1].key), sent).status_code == 404
    for name in ("remove_answer", "note_answer"):
        assert as_kit.post(at(knit_along, name, things[2].key)).status_code == 404
    assert as_mo.post(at(knit_along, "lift_block", far.pk)).status_code == 404
    mine = make_post(mia, clues[0])
    for act in ("hide", "restore", "dismiss", "reopen", "block", "lift", "retag"):
        answer = moderate(as_kit, mine, act, reason="x", number="2")
        assert answer.status_code == 404
    kinds = [at(knit_along, "moderate", kind, mine.key) for kind in ("question", "answer", "clue")]
    assert {as_mo.get(address).status_code for address in kinds} == {404}
    assert moderate(as_mo, mine, "erase").status_code == 404
    assert moderate(as_mo, mine, "retag", number="4").status_code == 404
    assert not Report.objects.exists()
    assert not Unveiling.objects.exists()
    assert not PostingBlock.objects.exists()
    assert not Post.objects.filter(hidden_at__isnull=False).exists()
    assert Question.objects.count() == 1
    assert acts() == []


def test_what_early_readers_write_ahead_is_the_organisers_alone_to_moderate(
    as_mo, as_hana, knit_along, clues, clock
):
    edda = make_participant(knit_along, "Edda", Role.CO_ORGANISER)
    post = make_post(edda, clues[3], words="Canary of clue 4.")
    report(as_hana, post, "Canary reason.")
    assert "Canary" not in page(as_mo, at(knit_along, "moderation"))
    address = at(knit_along, "moderate", "post", post.key)
    assert as_mo.get(address).status_code == 404
    assert moderate(as_mo, post, "hide", reason="x").status_code == 404
    assert "Canary of clue 4." in page(as_hana, address)
    clock.move_to(NOON + 3 * WEEK)
    assert "Canary of clue 4." in page(as_mo, address)


def test_a_reason_is_needed_to_report_to_hide_and_to_block(as_kit, as_mo, mia, knit_along, clues):
    post = make_post(mia, clues[0])
    assert report(as_kit, post, "").status_code == 422
    for act in ("hide", "block"):
        answer = moderate(as_mo, post, act, reason=" ")
        assert answer.status_code == 422
        assert "This field is required" in answer.content.decode()
        assert moderate(as_mo, post, act, reason="x" * 501).status_code == 422
    assert acts() == []


def test_a_moderator_blocks_no_host_and_an_organiser_no_organiser(
    as_mo, as_hana, hana, mo, knit_along, clues
):
    hanas, mos = make_post(hana, clues[0]), make_post(mo, clues[0])
    for client, post in ((as_mo, hanas), (as_mo, mos), (as_hana, hanas)):
        answer = moderate(client, post, "block", reason="x")
        assert answer.status_code == 422
        assert "looks after this knit-along" in answer.content.decode()
    assert moderate(as_hana, mos, "block", reason="x").status_code == 302
    assert PostingBlock.objects.get().participant == mo


def test_what_is_moved_to_another_clue_is_no_finished_object(as_mo, mia, knit_along, clues):
    post = make_post(mia, clues[2], is_finished=True)
    moderate(as_mo, post, "retag", number="1")
    post.refresh_from_db()
    assert (post.clue, post.is_finished) == (clues[0], False)


def test_what_is_moved_is_covered_again_for_whoever_had_uncovered_it(
    as_kit, as_mo, mia, knit_along, clues
):
    post = make_post(mia, clues[1], words="Canary words.")
    as_kit.post(at(knit_along, "show_post", post.key))
    assert "Canary words." in page(as_kit, at(knit_along, "progress"))
    moderate(as_mo, post, "retag", number="3")
    assert "Canary words." not in page(as_kit, at(knit_along, "progress"))


def test_acts_done_twice_are_done_once(as_mo, mia, knit_along, clues):
    post = make_post(mia, clues[0])
    for act in ("hide", "hide", "block", "block", "restore", "restore", "lift", "lift"):
        assert moderate(as_mo, post, act, reason="Twice.").status_code == 302
    assert acts() == [
        "hid a post",
        "blocked somebody from posting",
        "showed a hidden post again",
        "let somebody post again",
    ]


def test_a_hidden_note_leaves_the_clue_s_page_and_comes_back(
    as_kit, as_mo, kit, mia, knit_along, clues
):
    question = make_question(mia, clues[0])
    answer = make_answer(kit, question, words="The ridged one.")
    question.in_notes = answer
    question.save()
    clue_page = at(knit_along, "clue", 1)
    assert "The ridged one." in page(as_kit, clue_page)
    for thing in (answer, question):
        moderate(as_mo, thing, "hide", reason="Wrong.")
        assert "The ridged one." not in page(as_kit, clue_page)
        moderate(as_mo, thing, "restore")
        assert "The ridged one." in page(as_kit, clue_page)


def test_a_report_repeats_nothing_and_names_nobody_to_the_author(
    as_kit, as_mia, as_mo, mia, knit_along, clues
):
    post = make_post(mia, clues[2], words="Canary words.")
    address = at(knit_along, "report", "post", post.key)
    assert "Canary" not in page(as_kit, address)
    report(as_kit, post, "Reason of Kit.")
    moderate(as_mo, post, "hide", reason="We are kind here.")
    own = page(as_mia, at(knit_along, "post", post.key))
    for words in ("Reason of Kit.", "Kit", "Mo"):
        assert words not in own.partition("<main")[2]


def test_reported_photos_are_shown_to_moderators_folded_and_covered_in_lists(
    as_mo, as_kit, mia, knit_along, clues, settings
):
    post = make_post(mia, clues[2], photo="ab" * 16)
    report(as_mo, post)
    assert "480.webp" in page(as_mo, at(knit_along, "moderation"))
    assert "480.webp" not in page(as_mo, at(knit_along, "progress"))


def test_the_queue_asks_as_much_for_twenty_reports_as_for_one(
    as_mo, kit, mia, knit_along, clues, django_assert_num_queries
):
    def fill(count):
        for number in range(count):
            question = make_question(mia, clues[number % 3])
            for thing in (make_post(mia, clues[0]), question, make_answer(mia, question)):
                kind = type(thing).__name__.lower()
                Report.objects.create(reporter=kit, reason="Why", at=NOON, **{kind: thing})

    address = at(knit_along, "moderation")
    fill(1)
    page(as_mo, address)
    # Who asks (3), how many reports, and the reports with what they are about.
    with django_assert_num_queries(5):
        page(as_mo, address)
    fill(9)
    for query in ("", "?page=2"):
        with django_assert_num_queries(5):
            page(as_mo, address + query)


def test_a_report_is_about_one_thing(kit, mia, clues):
    post, question = make_post(mia, clues[0]), make_question(mia, clues[0])
    for about in ({}, {"post": post, "question": question}):
        with pytest.raises(IntegrityError), transaction.atomic():
            Report.objects.create(reporter=kit, reason="Why", at=NOON, **about)


def test_more_than_a_day_s_reports_are_asked_to_wait(as_kit, mia, knit_along, clues):
    posts = [make_post(mia, clues[0]) for _ in range(31)]
    for post in posts[:30]:
        assert report(as_kit, post).status_code == 302
    assert report(as_kit, posts[30], "One more").status_code == 429
    assert Report.objects.count() == 30
