"""Progress posts: what is seen of one before and after its clue is opened, and its photo."""

import io

import pytest
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from kal.models import Role
from schedule.models import Post, Unveiling
from schedule.models.post import COPIES, PHOTO_FOLDER, PHOTO_FORMS, path_of
from tests.builders import NOON, make_knit_along, make_participant, make_post
from tests.conftest import signed_in
from tests.photo_files import encoded
from tests.web.crowd.pages import WEEK, at, page

BLUE = (40, 60, 120)


def photo_file(size=(1300, 900), **options):
    data = encoded(Image.new("RGB", size, BLUE), "JPEG", **options)
    return SimpleUploadedFile("IMG_1.jpg", data, content_type="image/jpeg")


def stored(post, copy):
    with default_storage.open(path_of(post.photo, copy)) as file:
        return file.read()


def posted(client, knit_along, **fields):
    sent = {"about": "3", "words": "The third stripe sings.", "alt": ""} | fields
    return client.post(at(knit_along, "new_post"), sent)


def test_a_post_with_a_photo_is_shown_to_whoever_opened_the_clue(
    as_mia, as_kit, kit, knit_along, clues
):
    answer = posted(as_mia, knit_along, photo=photo_file(), alt="A blue wing")
    post = Post.objects.get()
    assert answer.headers["Location"] == at(knit_along, "post", post.key)
    as_kit.get(at(knit_along, "clue", 3))
    shown = page(as_kit, at(knit_along, "progress"))
    assert "The third stripe sings." in shown
    assert 'alt="A blue wing"' in shown
    assert 'loading="lazy"' in shown
    for kind in ("image/avif", "image/webp"):
        assert f'<source type="{kind}"' in shown


def test_it_is_behind_a_plain_cover_until_then(as_mia, as_kit, knit_along, clues):
    posted(as_mia, knit_along, photo=photo_file(), alt="A blue wing")
    post = Post.objects.get()
    for address in (at(knit_along, "progress"), at(knit_along, "post", post.key)):
        shown = page(as_kit, address)
        assert "A post about clue 3, which you have not opened" in shown
        for hidden in ("The third stripe sings.", "A blue wing", "<picture>", "/photo/"):
            assert hidden not in shown
    for copy in COPIES:
        assert as_kit.get(at(knit_along, "post_photo", post.key, copy)).status_code == 404


def test_show_me_takes_the_cover_off_one_post_alone(as_mia, as_kit, kit, mia, knit_along, clues):
    first, _second = (make_post(mia, clues[2], words=f"Words {n}.") for n in (1, 2))
    answer = as_kit.post(at(knit_along, "show_post", first.key))
    assert answer.headers["Location"] == at(knit_along, "post", first.key)
    shown = page(as_kit, at(knit_along, "progress"))
    assert "Words 1." in shown
    assert "Words 2." not in shown
    as_kit.post(at(knit_along, "show_post", first.key))
    assert list(Unveiling.objects.values_list("participant", "post")) == [(kit.pk, first.pk)]


def test_show_me_answers_htmx_with_the_post_alone(as_kit, mia, knit_along, clues):
    post = make_post(mia, clues[2])
    address = at(knit_along, "show_post", post.key)
    shown = as_kit.post(address, headers={"HX-Request": "true"}).content.decode()
    assert shown.lstrip().startswith("<article")
    assert "Half of it is done." in shown


def test_its_author_needs_no_cover_and_early_readers_know_every_clue(
    as_mia, as_hana, mia, knit_along, clues
):
    make_post(mia, clues[2])
    co = signed_in(make_participant(knit_along, "Co", Role.CO_ORGANISER).user)
    for client in (as_mia, as_hana, co):
        assert "Half of it is done." in page(client, at(knit_along, "progress"))


def test_a_moderator_reads_progress_behind_covers_as_everybody_does(mia, knit_along, clues):
    make_post(mia, clues[2])
    moderator = signed_in(make_participant(knit_along, "Mo", Role.MODERATOR).user)
    assert "Half of it is done." not in page(moderator, at(knit_along, "progress"))


def test_a_post_about_a_clue_to_come_is_there_for_early_readers_alone(
    as_hana, hana, as_kit, knit_along, clues, clock
):
    assert posted(as_kit, knit_along, about="4").status_code == 422
    assert posted(as_hana, knit_along, about="4").status_code == 302
    post = Post.objects.get()
    addresses = (
        at(knit_along, "post", post.key),
        at(knit_along, "show_post", post.key),
        at(knit_along, "report", "post", post.key),
    )
    for address in addresses:
        assert as_kit.get(address).status_code in (404, 405)
        assert as_kit.post(address).status_code in (404, 405)
    assert str(post.key) not in page(as_kit, at(knit_along, "progress"))
    clock.move_to(NOON + 3 * WEEK)
    assert "A post about clue 4" in page(as_kit, addresses[0])


def test_no_trace_of_the_camera_is_kept_and_every_copy_is_a_real_picture(as_mia, knit_along, clues):
    exif = Image.Exif()
    exif[0x010F] = "Canarycam"
    exif.get_ifd(0x8825)[1] = "N"
    posted(as_mia, knit_along, photo=photo_file(exif=exif, comment=b"canary"), alt="A wing")
    post = Post.objects.get()
    assert (post.width, post.height) == (1300, 900)
    for copy in COPIES:
        data = stored(post, copy)
        assert b"anary" not in data
        with Image.open(io.BytesIO(data)) as image:
            assert not image.getexif()
            assert "icc_profile" not in image.info
            assert image.width == int(copy.split(".")[0])
            assert abs(image.height - image.width * 900 / 1300) <= 1
            pixel = image.convert("RGB").getpixel((100, 100))
            assert isinstance(pixel, tuple)
            # Our choice: 4 of 255 is what the coarsest of the three kinds may be off.
            assert max(abs(a - b) for a, b in zip(pixel, BLUE, strict=True)) <= 4


def test_a_copy_is_handed_out_as_what_it_is_and_asked_for_again(as_mia, knit_along, clues):
    posted(as_mia, knit_along, photo=photo_file(), alt="A wing")
    post = Post.objects.get()
    for form in PHOTO_FORMS:
        answer = as_mia.get(at(knit_along, "post_photo", post.key, f"480.{form}"))
        assert answer.headers["Content-Type"] == f"image/{form}"
        assert answer.headers["Cache-Control"] == "private, no-cache"
        assert answer.headers["X-Content-Type-Options"] == "nosniff"
    for wrong in ("481.jpeg", "480.svg", "480", "..%2f480.jpeg"):
        assert as_mia.get(f"{at(knit_along, 'post', post.key)}photo/{wrong}").status_code == 404


def test_a_small_photo_is_not_enlarged(as_mia, knit_along, clues):
    posted(as_mia, knit_along, photo=photo_file((300, 200)), alt="A wing")
    post = Post.objects.get()
    with Image.open(io.BytesIO(stored(post, "1000.webp"))) as image:
        assert image.size == (300, 200)


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"words": ""}, "Add a photo, or say something."),
        ({"photo": True}, "Say what the photo shows"),
        ({"about": "9"}, "Select a valid choice"),
        ({"about": ""}, "This field is required"),
        ({"words": "x" * 2001}, "at most 2000 characters"),
        ({"words": "a\x00b"}, "Null characters are not allowed"),
    ],
)
def test_what_is_missing_is_said_and_what_was_typed_stays(
    as_mia, knit_along, clues, fields, sentence
):
    if fields.get("photo"):
        fields = fields | {"photo": photo_file()}
    answer = posted(as_mia, knit_along, **fields)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    if "words" not in fields:
        assert "The third stripe sings." in answer.content.decode()
    assert not Post.objects.exists()
    assert not default_storage.exists(PHOTO_FOLDER)


def test_a_removed_post_takes_its_photo_along(as_mia, knit_along, clues, settings):
    posted(as_mia, knit_along, photo=photo_file(), alt="A wing")
    post = Post.objects.get()
    files = [path for path in settings.MEDIA_ROOT.rglob("*") if path.is_file()]
    assert len(files) == len(COPIES)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("django.db.transaction.on_commit", lambda work: work())
        as_mia.post(at(knit_along, "remove_post", post.key))
    assert not Post.objects.exists()
    assert not [path for path in settings.MEDIA_ROOT.rglob("*") if path.is_file()]


def test_nobody_else_removes_it(as_kit, as_hana, mia, knit_along, clues):
    post = make_post(mia, clues[0])
    for client in (as_kit, as_hana):
        assert client.post(at(knit_along, "remove_post", post.key)).status_code == 404
    assert Post.objects.exists()


def test_finished_objects_are_shown_from_the_last_clue_on(as_mia, as_kit, knit_along, clues, clock):
    gallery = at(knit_along, "finished")
    assert "from the last clue on" in page(as_mia, gallery)
    assert posted(as_mia, knit_along, about="finished").status_code == 422
    clock.move_to(NOON + 3 * WEEK)
    assert posted(as_mia, knit_along, about="finished").status_code == 302
    assert Post.objects.get().clue == clues[3]
    shown = page(as_kit, gallery)
    assert "you have not opened clue 4, the last one" in shown
    assert "The third stripe sings." not in shown
    as_kit.get(at(knit_along, "clue", 4))
    assert "The third stripe sings." in page(as_kit, gallery)


def test_the_list_is_paged_and_asks_as_much_for_twenty_posts_as_for_one(
    as_kit, mia, knit_along, clues, django_assert_num_queries
):
    make_post(mia, clues[0], photo="ab" * 16)
    address = at(knit_along, "progress")
    page(as_kit, address)
    # Who asks (3), which clues, how many posts, and the posts.
    with django_assert_num_queries(6):
        page(as_kit, address)
    for number in range(44):
        make_post(mia, clues[number % 3], photo="ab" * 16, words=f"Row {number}.")
    for query in ("", "?page=2", "?page=3", "?clue=1"):
        with django_assert_num_queries(6):
            assert 'class="post is-covered"' in page(as_kit, address + query)
    assert page(as_kit, address).count("<article") == 20
    assert page(as_kit, f"{address}?page=3").count("<article") == 5
    assert as_kit.get(f"{address}?clue=4").status_code == 404
    assert as_kit.get(f"{address}?clue=x").status_code == 404


def test_strangers_find_nothing(as_sam, client, mia, knit_along, clues):
    post = make_post(mia, clues[0], photo="ab" * 16)
    elsewhere = signed_in(make_participant(make_knit_along(), "Eve").user)
    for name, arguments in (
        ("progress", ()),
        ("finished", ()),
        ("new_post", ()),
        ("post", (post.key,)),
        ("post_photo", (post.key, "480.webp")),
    ):
        address = at(knit_along, name, *arguments)
        assert as_sam.get(address).status_code == 404
        assert elsewhere.get(address).status_code == 404
        assert client.get(address).status_code == 302


def test_more_than_a_day_s_worth_is_asked_to_wait(as_mia, knit_along, clues):
    for number in range(20):
        assert posted(as_mia, knit_along, words=f"Row {number}").status_code == 302
    answer = posted(as_mia, knit_along, words="And another")
    assert answer.status_code == 429
    assert "And another" in answer.content.decode()
    assert Post.objects.count() == 20


def test_what_the_photo_shows_is_not_called_optional(as_mia, knit_along):
    page = as_mia.get(f"/k/{knit_along.slug}/progress/new/").content.decode()
    label = page.partition('<label for="id_alt">')[2].partition("</label>")[0]
    assert label == "What the photo shows"
    assert 'data-needed="Say what the photo shows, for whoever cannot see it."' in page
