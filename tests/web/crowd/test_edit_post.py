"""A post is edited by its author: covered anew under another clue, never unhidden, and told."""

from datetime import timedelta

import pytest
from django.urls import reverse

from kal.models import KnitAlong
from kal.records.belongings import belongings
from schedule.actions.moderate import block, hide, lift_block, restore, retag
from schedule.actions.post import edit_post, show_me
from schedule.errors import CoverTooLow
from schedule.models import EarlierWords, Opening, Post, Unveiling
from tests.builders import NOON, make_knit_along, make_participant, make_post
from tests.conftest import signed_in
from tests.pages import words
from tests.web.crowd.pages import NOW, WEEK


@pytest.fixture
def post(mia, clues):
    return make_post(mia, clues[0], words="Clue 1 went well.", photo="ab" * 16, alt="A blue wing")


def at(name, *arguments):
    return reverse(f"schedule:{name}", args=[KnitAlong.objects.earliest("pk").slug, *arguments])


def page(client, address):
    response = client.get(address)
    assert response.status_code == 200
    return words(response)


def edited(client, post, **fields):
    sent = {"about": "1", "words": "Clue 1 went well.", "alt": "A blue wing"} | fields
    return client.post(at("edit_post", post.key), sent, follow=True)


def opened(viewer, clue):
    Opening.objects.create(participant=viewer, revision=clue.revisions.get())


def test_words_alt_text_and_clue_are_changed_and_it_says_so(
    as_mia, as_kit, kit, clues, post, clock
):
    opened(kit, clues[1])
    clock.shift(timedelta(hours=2))
    shown = edited(as_mia, post, words="It sings.", alt="A red wing", about="2")
    assert "Your post is changed." in shown.content.decode()
    for client in (as_mia, as_kit):
        seen = page(client, at("progress"))
        assert "It sings." in seen
        assert 'alt="A red wing"' in seen
        assert "Clue 1 went well." not in seen
        assert 'edited <time datetime="2027-03-15T15:00:00+00:00">15 March, 15:00</time>' in seen
    assert Post.objects.get().at == NOON


def test_nothing_changed_says_nothing_of_an_edit(as_mia, post):
    assert "Nothing was changed." in edited(as_mia, post).content.decode()
    assert Post.objects.get().edited_at is None
    assert not EarlierWords.objects.exists()
    assert "edited" not in page(as_mia, at("post", post.key))


def test_a_later_clue_covers_it_for_whoever_has_not_opened_that_one(
    as_mia, as_kit, kit, clues, post
):
    opened(kit, clues[0])
    show_me(kit, post)
    assert "Clue 1 went well." in page(as_kit, at("progress"))
    edited(as_mia, post, about="3")
    for address in (at("progress"), at("post", post.key)):
        covered = page(as_kit, address)
        assert "A post about clue 3, which you have not opened" in covered
        for hidden in ("Clue 1 went well.", "A blue wing", "/photo/"):
            assert hidden not in covered
    assert as_kit.get(at("post_photo", post.key, "480.webp")).status_code == 404
    assert not Unveiling.objects.exists(), "show me was said to a post about another clue"


def test_an_earlier_clue_shows_it_to_whoever_has_opened_that_one(as_mia, as_kit, kit, clues, mia):
    post = make_post(mia, clues[2], words="Half of it.")
    opened(kit, clues[0])
    assert "Half of it." not in page(as_kit, at("progress"))
    edited(as_mia, post, about="1", words="Half of it.")
    assert "Half of it." in page(as_kit, at("progress"))


def test_show_me_outlives_an_edit_under_the_same_clue(as_mia, as_kit, kit, post):
    show_me(kit, post)
    edited(as_mia, post, words="And it sings.")
    assert "And it sings." in page(as_kit, at("progress"))


def test_a_clue_to_come_hides_it_from_all_but_early_readers(
    as_hana, as_kit, hana, clues, knit_along, clock
):
    post = make_post(hana, clues[0], words="The end is a moth.")
    edited(as_hana, post, about="4", words="The end is a moth.")
    assert as_kit.get(at("post", post.key)).status_code == 404
    assert str(post.key) not in page(as_kit, at("progress"))
    clock.move_to(NOON + 3 * WEEK)
    assert "A post about clue 4" in page(as_kit, at("post", post.key))


def test_a_finished_object_is_edited_as_one(as_mia, mia, clues, clock):
    clock.move_to(NOON + 3 * WEEK)
    post = make_post(mia, clues[3], words="Done.", is_finished=True)
    form = page(as_mia, at("edit_post", post.key))
    assert '<option value="finished" selected>' in form
    edited(as_mia, post, about="finished", words="Done at last.")
    post.refresh_from_db()
    assert (post.words, post.is_finished, post.clue) == ("Done at last.", True, clues[3])
    edited(as_mia, post, about="4", words="Done at last.")
    post.refresh_from_db()
    assert not post.is_finished


def test_moderators_read_what_it_said_before_and_nobody_else_does(
    as_mia, as_kit, kit, mo, clues, post
):
    opened(kit, clues[0])
    edited(as_mia, post, words="Second words.", alt="A red wing")
    edited(as_mia, post, words="Third words.", alt="A red wing")
    shown = page(signed_in(mo.user), at("moderate", "post", post.key))
    assert shown.index("Second words.") < shown.index("Clue 1 went well.")
    assert "What it said before" in shown
    for client in (as_mia, as_kit):
        for address in (at("progress"), at("post", post.key)):
            assert "Second words." not in page(client, address)
    assert "Second words." not in page(as_mia, at("edit_post", post.key))


def test_what_it_said_of_a_clue_to_come_waits_for_that_clue(as_hana, hana, mo, clues, clock):
    post = make_post(hana, clues[3], words="The end is a moth.")
    edited(as_hana, post, about="1", words="Nothing to see.")
    moderating = at("moderate", "post", post.key)
    as_mo = signed_in(mo.user)
    assert "moth" not in page(as_mo, moderating)
    assert "moth" in page(as_hana, moderating)
    clock.move_to(NOON + 3 * WEEK)
    assert "moth" in page(as_mo, moderating)


def test_what_is_hidden_stays_hidden_until_a_moderator_shows_it(as_mia, as_kit, kit, mo, post):
    hide(post, why="We are kind here.", by=mo, now=NOW)
    assert "We are kind here." in page(as_mia, at("edit_post", post.key))
    assert "it stays hidden" in page(as_mia, at("edit_post", post.key))
    edited(as_mia, post, words="I am sorry.", about="2")
    assert as_kit.get(at("post", post.key)).status_code == 404
    post.refresh_from_db()
    assert (post.words, post.hidden_why, post.hidden_by) == (
        "I am sorry.",
        "We are kind here.",
        mo.user,
    )
    restore(post, by=mo, now=NOW)
    show_me(kit, post)
    assert "I am sorry." in page(as_kit, at("post", post.key))


def test_its_author_does_not_undo_the_cover_a_moderator_put_on_it(as_mia, mo, clues, post):
    retag(post, clues[1], by=mo, now=NOW)
    form = page(as_mia, at("edit_post", post.key))
    assert '<option value="1">' not in form
    assert "A moderator has put the cover of clue 2 before this post" in form
    refused = edited(as_mia, post, about="1", words="Back again.")
    assert refused.status_code == 422
    assert "Back again." in refused.content.decode()
    with pytest.raises(CoverTooLow):
        edit_post(post, clue=clues[0], words="x", alt="x", is_finished=False, now=NOW)
    assert Post.objects.get().clue == clues[1]
    edited(as_mia, post, about="3")
    assert Post.objects.get().clue == clues[2]
    edited(as_mia, post, about="2")
    assert Post.objects.get().clue == clues[1]
    retag(Post.objects.get(), clues[0], by=mo, now=NOW)
    edited(as_mia, post, about="1", words="Allowed again.")
    assert Post.objects.get().words == "Allowed again."


def test_whoever_is_blocked_does_not_edit_until_they_may_post_again(as_mia, mia, mo, post):
    block(mia, why="Third advert this week.", by=mo, now=NOW)
    refused = edited(as_mia, post, words="Buy here.")
    assert refused.status_code == 422
    assert "Third advert this week." in refused.content.decode()
    assert "Buy here." in refused.content.decode()
    assert Post.objects.get().words == "Clue 1 went well."
    lift_block(mia, by=mo, now=NOW)
    edited(as_mia, post, words="Better.")
    assert Post.objects.get().words == "Better."


def test_an_archived_knit_along_is_not_edited(as_mia, knit_along, post):
    KnitAlong.objects.filter(pk=knit_along.pk).update(archived_at=NOW)
    assert edited(as_mia, post, words="Late.").status_code == 409
    assert Post.objects.get().words == "Clue 1 went well."


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"alt": " "}, "Say what the photo shows, for whoever cannot see it."),
        ({"about": "4"}, "Select a valid choice"),
        ({"about": "finished"}, "Select a valid choice"),
        ({"about": ""}, "This field is required"),
        ({"words": "x" * 2001}, "at most 2000 characters"),
        ({"words": "a\x00b"}, "Null characters are not allowed"),
    ],
)
def test_what_cannot_be_is_one_sentence_and_what_was_typed_stays(as_mia, post, fields, sentence):
    answer = edited(as_mia, post, **({"words": "Typed words."} | fields))
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    if "words" not in fields:
        assert "Typed words." in answer.content.decode()
    assert Post.objects.get().words == "Clue 1 went well."
    assert not EarlierWords.objects.exists()


def test_words_alone_are_not_edited_away(as_mia, mia, clues):
    post = make_post(mia, clues[0], words="Only words.")
    answer = edited(as_mia, post, words=" ")
    assert "Say something, or remove the post instead." in answer.content.decode()
    assert 'name="alt"' not in page(as_mia, at("edit_post", post.key))
    edited(as_mia, post, words="Words.", alt="<script>")
    assert (Post.objects.get().words, Post.objects.get().alt) == ("Words.", "")


def test_a_photo_sent_along_changes_nothing(as_mia, post):
    edited(as_mia, post, words="New.", photo="cd" * 16, author="1", hidden_at="", width="5")
    post.refresh_from_db()
    assert (post.words, post.photo, post.width) == ("New.", "ab" * 16, 480)


def test_words_are_shown_as_they_are_and_run_nowhere(as_mia, post):
    seen = edited(as_mia, post, words="<img src=x onerror=alert(1)>").content.decode()
    assert "<img src=x" not in seen
    assert "&lt;img src=x" in seen


def test_nobody_else_edits_it(as_kit, as_hana, as_sam, client, mo, post):
    elsewhere = signed_in(make_participant(make_knit_along(), "Eve").user)
    address = at("edit_post", post.key)
    for other in (as_kit, as_hana, as_sam, elsewhere, signed_in(mo.user)):
        assert other.get(address).status_code == 404
        assert edited(other, post, words="Mine now.").status_code == 404
    assert client.get(address).status_code == 302
    assert Post.objects.get().words == "Clue 1 went well."
    assert signed_in(post.author.user).put(address).status_code == 405


def test_earlier_words_go_with_the_post_and_are_in_the_author_s_export(as_mia, mia, post):
    edited(as_mia, post, words="Second words.")
    theirs = {label: list(rows) for label, rows in belongings(mia.user)}
    assert theirs["schedule.earlierwords"] == [EarlierWords.objects.get(post=post)]
    as_mia.post(at("remove_post", post.key))
    assert not EarlierWords.objects.exists()


def test_more_than_a_day_s_worth_is_asked_to_wait(as_mia, post):
    for number in range(60):
        assert edited(as_mia, post, words=f"Row {number}").status_code == 200
    answer = edited(as_mia, post, words="And another")
    assert answer.status_code == 429
    assert "And another" in answer.content.decode()
    assert EarlierWords.objects.count() == 60
