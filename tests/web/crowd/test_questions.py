"""Questions about clues and their answers: covers, mail, the clue's notes, errata, the desk."""

from datetime import timedelta

import pytest
from django.core import mail
from django.utils import timezone

from kal.models import AuditEntry, Erasure, Role
from schedule.clue_notes import renew_notes
from schedule.erasing import erase_participant
from schedule.models import Answer, Question
from schedule.notices.sweep import sweep
from tests.builders import (
    NOON,
    make_answer,
    make_participant,
    make_question,
)
from tests.conftest import signed_in
from tests.web.crowd.pages import at, page

COVER = "A question about clue 3, which you have not opened"


@pytest.fixture(autouse=True)
def mailing(settings):
    settings.BASE_URL = "https://knits.example"
    settings.MAIL_CONNECTIONS = 1


def answers_mailed():
    sweep(clock=timezone.now)
    return [message for message in mail.outbox if "has an answer" in message.subject]


def test_a_question_is_asked_answered_and_its_asker_mailed_without_the_answer(
    as_mia, as_kit, mia, knit_along, clues
):
    as_mia.get(at(knit_along, "clue", 3))
    as_kit.get(at(knit_along, "clue", 3))
    asked = as_mia.post(
        at(knit_along, "ask"), {"about": "3", "words": "Is {row} 7 a ridge? <b>"}, follow=True
    )
    question = Question.objects.get()
    assert asked.redirect_chain[-1][0] == at(knit_along, "question", question.key)
    assert "Is {row} 7 a ridge? &lt;b&gt;" in page(as_kit, at(knit_along, "questions"))
    address = at(knit_along, "answer_question", question.key)
    as_kit.post(address, {"words": "Yes, a purl ridge."})
    as_kit.post(address, {"words": "And row 9 too."})
    assert "a purl ridge" in page(as_mia, at(knit_along, "question", question.key))
    (message,) = answers_mailed()
    assert message.to == [mia.user.email]
    assert message.subject == "Your question about clue 3 has an answer"
    assert "Is {row} 7 a ridge?" in message.body
    assert at(knit_along, "question", question.key) in message.body
    assert "purl" not in str(message.message())


def test_an_organiser_s_answer_is_mailed_too_and_one_s_own_is_not(
    as_hana, as_mia, as_kit, mia, kit, knit_along, clues
):
    question = make_question(mia, clues[0])
    address = at(knit_along, "answer_question", question.key)
    for client in (as_mia, as_kit, as_hana):
        client.post(address, {"words": "The one with the ridges."})
    assert [message.to for message in answers_mailed()] == [[mia.user.email]] * 2


def test_it_stands_behind_a_cover_until_the_clue_is_opened_or_show_me_is_said(
    as_kit, kit, mia, knit_along, clues
):
    question = make_question(mia, clues[2], words="Canary question?")
    make_answer(mia, question, words="Canary answer.")
    own = at(knit_along, "question", question.key)
    for address in (at(knit_along, "questions"), own):
        shown = page(as_kit, address)
        assert COVER in shown
        assert "Canary" not in shown
    as_kit.post(at(knit_along, "show_question", question.key))
    assert "Canary question?" in page(as_kit, at(knit_along, "questions"))
    assert "Canary answer." in page(as_kit, own)
    kit.unveilings.all().delete()
    assert "Canary" not in page(as_kit, own)
    as_kit.get(at(knit_along, "clue", 3))
    assert "Canary answer." in page(as_kit, own)


def test_who_asks_without_opening_the_clue_sees_the_question_but_no_answer(
    as_kit, kit, mia, knit_along, clues
):
    question = make_question(kit, clues[2], words="My own question?")
    make_answer(mia, question, words="Canary answer.")
    shown = page(as_kit, at(knit_along, "question", question.key))
    assert "My own question?" in shown
    assert "Canary" not in shown
    assert "Its answers are about clue 3" in shown


def test_a_question_about_a_clue_to_come_is_there_for_early_readers_alone(
    as_kit, mia, knit_along, clues
):
    edda = make_participant(knit_along, "Edda", Role.CO_ORGANISER)
    question = make_question(edda, clues[3], words="Canary question?")
    assert as_kit.post(at(knit_along, "ask"), {"about": "4", "words": "?"}).status_code == 422
    for name in ("question", "answer_question", "show_question"):
        address = at(knit_along, name, question.key)
        assert as_kit.get(address).status_code in (404, 405)
        assert as_kit.post(address, {"words": "x"}).status_code in (404, 405)
    assert str(question.key) not in page(as_kit, at(knit_along, "questions"))
    assert "Canary question?" in page(signed_in(edda.user), at(knit_along, "questions"))


def test_the_desk_shows_who_waits_the_longest_first(as_hana, as_kit, kit, mia, knit_along, clues):
    for number in range(3):
        make_question(
            kit, clues[number], words=f"Question {number}?", at=NOON - timedelta(days=number)
        )
    make_answer(mia, Question.objects.get(words="Question 1?"))
    desk = at(knit_along, "desk_questions")
    shown = page(as_hana, desk)
    assert "Question 1?" not in shown
    assert shown.index("Question 2?") < shown.index("Question 0?")
    assert "Question 1?" in page(as_hana, f"{desk}?state=answered")
    assert "Question 2?" not in page(as_hana, f"{desk}?state=all&clue=1")
    assert as_kit.get(desk).status_code == 404


def test_an_answer_that_is_hidden_does_not_answer(as_hana, kit, mia, knit_along, clues):
    question = make_question(kit, clues[0], words="Still open?")
    make_answer(mia, question, hidden_at=NOON, hidden_why="rude")
    assert "Still open?" in page(as_hana, at(knit_along, "desk_questions"))


def test_the_best_answer_is_shown_with_the_clue_and_taken_out_again(
    as_hana, as_kit, kit, mia, knit_along, clues
):
    question = make_question(mia, clues[0], words="Which <side>?")
    answer = make_answer(kit, question, words="The ridged one.")
    clue_page = at(knit_along, "clue", 1)
    assert "Answered questions" not in page(as_kit, clue_page)
    note = at(knit_along, "note_answer", answer.key)
    as_hana.post(note)
    shown = page(as_kit, clue_page)
    assert "Which &lt;side&gt;?" in shown
    assert "The ridged one." in shown
    assert "The ridged one." not in page(as_kit, at(knit_along, "clue", 2))
    as_hana.post(note, {"out": "yes"})
    assert "The ridged one." not in page(as_kit, clue_page)
    acts = list(AuditEntry.objects.values_list("act", flat=True))
    assert acts == ["took an answer out of a clue's notes", "put an answer into a clue's notes"]


def test_notes_cost_the_clue_s_page_no_query(
    as_kit, kit, mia, knit_along, clues, django_assert_num_queries
):
    address = at(knit_along, "clue", 1)
    page(as_kit, address)
    with django_assert_num_queries(4):
        page(as_kit, address)
    question = make_question(mia, clues[0])
    question.in_notes = make_answer(kit, question)
    question.save()
    renew_notes(clues[0])
    assert "The one with the ridges." in page(as_kit, address)
    with django_assert_num_queries(4):
        page(as_kit, address)


def test_an_answer_begins_an_erratum(as_hana, as_kit, kit, mia, knit_along, clues):
    question = make_question(mia, clues[0])
    answer = make_answer(kit, question, words="Row 7 is a\nridge.")
    other = make_answer(kit, make_question(mia, clues[1]), words="Another clue.")
    edit = at(knit_along, "edit_clue", 1)
    assert 'value="Row 7 is a ridge."' in page(as_hana, f"{edit}?answer={answer.key}")
    assert "Another clue." not in page(as_hana, f"{edit}?answer={other.key}")
    assert page(as_hana, f"{edit}?answer=nonsense")


def test_only_the_organiser_notes_answers(as_kit, kit, mia, knit_along, clues):
    moderator = make_participant(knit_along, "Mo", Role.MODERATOR)
    answer = make_answer(kit, make_question(mia, clues[0]))
    for client in (as_kit, signed_in(moderator.user)):
        assert client.post(at(knit_along, "note_answer", answer.key)).status_code == 404
    assert Question.objects.get().in_notes is None


def test_one_s_own_can_be_removed_and_nobody_else_s(as_kit, as_mia, kit, mia, knit_along, clues):
    question = make_question(mia, clues[0])
    answer = make_answer(kit, question)
    assert as_kit.post(at(knit_along, "remove_question", question.key)).status_code == 404
    assert as_mia.post(at(knit_along, "remove_answer", answer.key)).status_code == 404
    assert as_kit.post(at(knit_along, "remove_answer", answer.key)).status_code == 302
    assert as_mia.post(at(knit_along, "remove_question", question.key)).status_code == 302
    assert not Answer.objects.exists()
    assert not Question.objects.exists()


def test_a_note_that_its_author_removes_leaves_the_clue(as_kit, kit, mia, knit_along, clues):
    question = make_question(mia, clues[0])
    answer = make_answer(kit, question, words="The ridged one.")
    question.in_notes = answer
    question.save()
    assert "The ridged one." in page(as_kit, at(knit_along, "clue", 1))
    as_kit.post(at(knit_along, "remove_answer", answer.key))
    assert "The ridged one." not in page(as_kit, at(knit_along, "clue", 1))


def test_a_note_goes_with_whoever_is_erased(as_kit, mia, knit_along, clues):
    for author in (make_participant(knit_along, "Eve"), mia):
        question = make_question(author, clues[0], words="Which side?")
        question.in_notes = make_answer(mia, question)
        question.save()
        renew_notes(clues[0])
        assert "Which side?" in page(as_kit, at(knit_along, "clue", 1))
        erase_participant(author, why=Erasure.Why.OWN_WISH, now=NOON)
        assert "Which side?" not in page(as_kit, at(knit_along, "clue", 1))


def test_the_list_asks_as_much_for_twenty_questions_as_for_one(
    as_kit, kit, mia, knit_along, clues, django_assert_num_queries
):
    address = at(knit_along, "questions")
    make_answer(kit, make_question(mia, clues[0]))
    page(as_kit, address)
    # Who asks (3), which clues, how many questions, and the questions.
    with django_assert_num_queries(6):
        page(as_kit, address)
    for number in range(41):
        make_answer(kit, make_question(mia, clues[number % 3]))
    for query in ("", "?page=2", "?page=3", "?clue=1", "?state=answered"):
        with django_assert_num_queries(6):
            page(as_kit, address + query)
    question = make_question(mia, clues[0])
    for _ in range(30):
        make_answer(kit, question)
    as_kit.get(at(knit_along, "clue", 1))
    with django_assert_num_queries(5):
        page(as_kit, at(knit_along, "question", question.key))


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"words": ""}, "Type what you would like to know."),
        ({"words": "x" * 2001}, "at most 2000 characters"),
        ({"about": "99"}, "Select a valid choice"),
    ],
)
def test_what_is_missing_is_said(as_kit, knit_along, clues, fields, sentence):
    sent = {"about": "1", "words": "Which side?"} | fields
    answer = as_kit.post(at(knit_along, "ask"), sent)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert not Question.objects.exists()


def test_an_empty_answer_is_asked_for(as_kit, knit_along, clues, mia):
    question = make_question(mia, clues[0])
    as_kit.get(at(knit_along, "clue", 1))
    sent = as_kit.post(at(knit_along, "answer_question", question.key), {"words": ""})
    assert sent.status_code == 422
    assert "Type your answer first." in sent.content.decode()


def test_more_than_a_day_s_worth_is_asked_to_wait(as_kit, knit_along, clues):
    for _ in range(20):
        as_kit.post(at(knit_along, "ask"), {"about": "1", "words": "Which?"})
    answer = as_kit.post(at(knit_along, "ask"), {"about": "1", "words": "And which?"})
    assert answer.status_code == 429
    assert "And which?" in answer.content.decode()
    assert Question.objects.count() == 20


def test_an_empty_list_says_that_nobody_has_asked_and_a_filter_that_finds_none_says_that(
    as_kit, knit_along, clues
):
    address = at(knit_along, "questions")
    for query in ("", "?state=all"):
        assert "Nobody has asked anything yet." in page(as_kit, address + query)
    for query in ("?state=waiting", "?state=answered", "?clue=1"):
        assert "No such question here." in page(as_kit, address + query)
