"""A kit maker measures a kit's yarns in a photo: on the kit alone, and for no eyes but theirs."""

import pytest
from django.conf import settings
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone

from kal.models import KnitAlong
from kal.records.belongings import belongings
from palettes import marking
from palettes.colour.difference import delta_e_2000
from palettes.colour.light import Box
from palettes.colour.spaces import Lab
from palettes.kit_actions import MAX_KIT_PHOTOS, withdraw_maker
from palettes.models import Kit, KitMark, KitPhoto, KitYarn, Mark, Photo
from palettes.models.yarn_facts import MeasuredBy
from palettes.photos import read_photo
from schedule.erasing import erase_person
from tests.builders import NOON, make_kit, make_kit_maker, make_knit_along, make_user
from tests.conftest import signed_in
from tests.core.photo_scenes import flat, yarn
from tests.pages import words
from tests.photo_files import from_linear

pytestmark = pytest.mark.usefixtures("noon")

BLUE, RED, TABLE = (35, 5, -35), (45, 45, 28), (70, 2, 8)
ON_BLUE, ON_RED = Box(0.08, 0.2, 0.38, 0.8), Box(0.48, 0.2, 0.78, 0.8)
PAGES = ("kit_photo", "kit_photo_image", "kit_photo_daylight", "kit_photo_grey")
VERBS = ("keep_marks", "add_mark", "find_marks", "remove_mark", "apply_marks", "remove_photo")


@pytest.fixture(scope="session")
def picture():
    """A blue and a tonal red skein on a table, white paper at the right."""
    scene = flat(TABLE, 300, 700)
    scene[40:260, 40:280] = yarn(BLUE)[:220]
    scene[40:260, 320:560] = yarn(RED, style="tonal", seed=2)[:220]
    scene[20:280, 600:680] = 0.876
    return from_linear(scene * 0.9)


@pytest.fixture
def as_dora(dora):
    return signed_in(dora)


@pytest.fixture
def kit_of_dora(knit_along, dora):
    maker = make_kit_maker(knit_along, email=dora.email)
    return make_kit(knit_along, levels=(20, 40), maker=maker, state=Kit.State.DRAFT)


def stored(kit, data):
    kit = Kit.objects.select_related("maker__knit_along").get(pk=kit.pk)
    return marking.add_marked_kit_photo(kit, read_photo(data))


@pytest.fixture
def photo(kit_of_dora, picture):
    """Her photo, with one box on the blue skein and one on the red."""
    photo = stored(kit_of_dora, picture)
    photo.marks.all().delete()
    for box in (ON_BLUE, ON_RED):
        photo.marks.create(box=box)
    return photo


def at(name, thing):
    kit = thing.kit if isinstance(thing, (KitPhoto, KitYarn)) else thing
    return reverse(f"palettes:{name}", args=[kit.maker.knit_along.slug, thing.pk])


def fields(photo, **targets):
    """Return what the page sends as it stands, with the boxes in order given to `blue`, `red`."""
    white = photo.marks.of_white().first()
    sent = {"white": white.kind if white else "", "count": "5"}
    for name, mark in zip(("blue", "red"), photo.marks.of_yarn(), strict=False):
        box, target = mark.box, targets.get(name, "")
        sides = (box.left, box.top, box.right - box.left, box.bottom - box.top)
        names = ("left", "top", "width", "height")
        sent |= {f"mark-{mark.pk}-{n}": f"{s * 100:.1f}" for n, s in zip(names, sides, strict=True)}
        sent |= {f"mark-{mark.pk}-target": target, f"mark-{mark.pk}-was": ""}
        sent |= {f"mark-{mark.pk}-name": "", f"mark-{mark.pk}-dye_style": ""}
    return sent


def upload(client, kit, data, name="shed.png"):
    return client.post(at("kit_photos", kit), {"photo": SimpleUploadedFile(name, data)})


def test_an_upload_comes_with_a_box_on_each_yarn_and_the_page_of_marks(
    as_dora, kit_of_dora, picture
):
    assert at("kit_photos", kit_of_dora) in words(as_dora.get(at("own_kit", kit_of_dora)))
    answer = upload(as_dora, kit_of_dora, picture)
    photo = KitPhoto.objects.get()
    assert answer.headers["Location"] == at("kit_photo", photo)
    assert photo.marks.of_yarn().count() >= 2
    page = words(as_dora.get(at("kit_photo", photo)))
    assert ">Kit 20</option>" in page
    assert "Put the colours on the kit" in page
    assert "/palette/" not in page, "a maker has no palette here"
    assert at("kit_photo", photo) in words(as_dora.get(at("kit_photos", kit_of_dora)))


def test_measured_colours_go_onto_the_kit_s_yarns_and_new_ones(as_dora, kit_of_dora, photo):
    first = kit_of_dora.yarns.get(position=0)
    sent = fields(photo, blue=str(first.pk), red="new")
    page = words(as_dora.post(at("kit_apply_marks", photo), sent, follow=True))
    assert f"{first.name} has its colour: dark blue" in page
    first.refresh_from_db()
    # The scene's own colour; a photo is stored in 8 bits and lossy, so a little is lost (ours).
    assert delta_e_2000(first.lab, Lab(*BLUE)) < 4
    assert (first.measured_by, first.put_up_grams, first.position) == (MeasuredBy.PHOTO, 50, 0)
    new = kit_of_dora.yarns.last()
    assert (new.position, new.balls, new.dye_style) == (2, 1, "tonal")
    assert delta_e_2000(new.lab, Lab(*RED)) < 6
    # Sent twice it enters nothing twice: the box is the new yarn's by then.
    as_dora.post(at("kit_apply_marks", photo), sent)
    assert kit_of_dora.yarns.count() == 3
    assert photo.marks.get(box=ON_RED).yarn == new


def test_new_yarns_of_one_colour_are_numbered(as_dora, kit_of_dora, photo):
    photo.marks.update(box=ON_BLUE)
    as_dora.post(at("kit_apply_marks", photo), fields(photo, blue="new", red="new"))
    first, second = list(kit_of_dora.yarns.all())[-2:]
    assert first.name.startswith("Dark blue")
    assert second.name == f"{first.name} 2"


def test_an_amount_not_filled_in_leads_its_maker_to_the_field(as_dora, kit_of_dora):
    yarn, *_rest = kit_of_dora.yarns.all()
    kit_of_dora.yarns.filter(pk=yarn.pk).update(put_up_grams=None, put_up_metres=None)
    page = words(as_dora.get(at("own_kit", kit_of_dora)))
    field = f"yarn-{yarn.pk}-put_up_grams"
    assert page.count(f'href="{at("kit_yarn", yarn)}#{field}"') == 1
    assert f'id="{field}"' in words(as_dora.get(at("kit_yarn", yarn)))


def test_white_paper_is_marked_boxes_are_added_found_and_removed(as_dora, photo):
    as_dora.post(at("kit_keep_marks", photo), fields(photo) | {"white": "paper"})
    assert photo.marks.of_white().get().box.left > 0.8
    as_dora.post(at("kit_add_mark", photo), fields(photo) | {"at_x": "50", "at_y": "50"})
    assert photo.marks.of_yarn().count() == 3
    gone = photo.marks.of_yarn().last()
    as_dora.post(at("kit_remove_mark", photo), fields(photo) | {"mark": gone.pk})
    assert photo.marks.of_yarn().count() == 2
    as_dora.post(at("kit_find_marks", photo), fields(photo) | {"count": "2"})
    assert photo.marks.of_yarn().count() == 2
    part = as_dora.post(at("kit_keep_marks", photo), fields(photo), headers={"HX-Request": "true"})
    assert 'hx-swap-oob="true"' in words(part)
    for name in ("kit_photo_image", "kit_photo_daylight", "kit_photo_grey"):
        answer = as_dora.get(at(name, photo))
        assert (answer.status_code, answer["Content-Type"]) == (200, "image/webp")
        assert answer["Cache-Control"].startswith("private")


def test_a_kit_that_is_full_takes_no_new_yarn_and_nothing_is_half_done(as_dora, kit_of_dora, photo):
    first = kit_of_dora.yarns.get(position=0)
    for number in range(3):
        kit_of_dora.yarns.create(name=f"More {number}", lab_l=50, lab_a=0, lab_b=0, position=9)
    answer = as_dora.post(at("kit_apply_marks", photo), fields(photo, blue=first.pk, red="new"))
    assert answer.status_code == 422
    assert "A kit here has 5 yarns, one for each colour; remove one first." in words(answer)
    first.refresh_from_db()
    assert (first.lab_l, kit_of_dora.yarns.count()) == (20, 5)


@pytest.mark.parametrize("state", [Kit.State.PROPOSED, Kit.State.APPROVED])
def test_a_proposed_kit_stands_still(as_dora, kit_of_dora, photo, picture, state):
    Kit.objects.filter(pk=kit_of_dora.pk).update(state=state)
    first = kit_of_dora.yarns.get(position=0)
    assert "take it back first" in words(as_dora.get(at("kit_photo", photo)))
    before = list(KitMark.objects.values_list("pk", "box"))
    for verb in ("keep_marks", "add_mark", "find_marks", "apply_marks"):
        answer = as_dora.post(at(f"kit_{verb}", photo), fields(photo, blue=first.pk))
        assert answer.status_code == 422
        assert "The kit has been proposed" in words(answer)
    assert upload(as_dora, kit_of_dora, picture).status_code == 422
    assert list(KitMark.objects.values_list("pk", "box")) == before
    assert KitYarn.objects.get(pk=first.pk).lab_l == 20


def test_yarns_and_boxes_of_others_are_out_of_reach(as_dora, knit_along, photo, picture):
    other = make_kit(knit_along)
    theirs = other.yarns.get(position=0)
    strange = stored(other, picture).marks.first()
    sent = fields(photo, blue=theirs.pk, red="new")
    sent |= {f"mark-{strange.pk}-left": "1", f"mark-{strange.pk}-width": "5"}
    as_dora.post(at("kit_apply_marks", photo), sent)
    assert KitYarn.objects.get(pk=theirs.pk).measured_by != MeasuredBy.PHOTO
    removing = as_dora.post(at("kit_remove_mark", photo), fields(photo) | {"mark": strange.pk})
    assert removing.status_code == 404
    assert KitMark.objects.get(pk=strange.pk).box == strange.box


@pytest.fixture
def others(as_hana, as_kit, as_sam, knit_along):
    """The organiser, a participant, a stranger, another maker here, and one of elsewhere."""
    eve, una = make_user("Eve"), make_user("Una")
    make_kit_maker(knit_along, "Eve", email=eve.email)
    make_kit_maker(make_knit_along(), "Una", email=una.email)
    return [as_hana, as_kit, as_sam, signed_in(eve), signed_in(una)]


def test_nobody_else_gets_there_the_organiser_neither(others, client, kit_of_dora, photo, picture):
    pages = [*(at(name, photo) for name in PAGES), at("kit_photos", kit_of_dora)]
    for other in others:
        for address in pages:
            assert other.get(address).status_code == 404
        for verb in VERBS:
            sent = fields(photo, red="new")
            assert other.post(at(f"kit_{verb}", photo), sent).status_code == 404
        assert upload(other, kit_of_dora, picture).status_code == 404
    for address in pages:
        assert client.get(address).status_code == 302
    assert (KitPhoto.objects.count(), kit_of_dora.yarns.count()) == (1, 2)


def test_an_ended_invitation_ends_it(as_dora, hana, photo):
    withdraw_maker(photo.kit.maker, by=hana.user, now=NOON)
    for name in PAGES:
        assert as_dora.get(at(name, photo)).status_code == 404


def test_the_desk_and_the_pages_of_kits_say_nothing_of_photos(
    as_dora, as_hana, as_kit, kit_of_dora, photo
):
    first = kit_of_dora.yarns.get(position=0)
    as_dora.post(at("kit_apply_marks", photo), fields(photo, blue=first.pk))
    Kit.objects.filter(pk=kit_of_dora.pk).update(state=Kit.State.APPROVED, decided_at=NOON)
    for page in (as_hana.get(at("desk_kit", kit_of_dora)), as_kit.get(at("kit", kit_of_dora))):
        assert page.status_code == 200
        assert "/photos/" not in words(page)


def test_an_archived_knit_along_is_read_and_not_changed(as_dora, photo):
    KnitAlong.objects.update(archived_at=NOON)
    assert as_dora.get(at("kit_photo", photo)).status_code == 200
    for verb in VERBS:
        assert as_dora.post(at(f"kit_{verb}", photo), fields(photo)).status_code == 409


def test_wrong_methods_and_bad_numbers(as_dora, photo):
    for verb in VERBS:
        assert as_dora.get(at(f"kit_{verb}", photo)).status_code == 405
    for name in PAGES:
        assert as_dora.post(at(name, photo)).status_code == 405
    missing = reverse("palettes:kit_photo", args=[photo.kit.maker.knit_along.slug, 99_999])
    assert as_dora.get(missing).status_code == 404


@pytest.mark.parametrize("data", [b"", b"no photo at all", b"<svg onload=alert(1)>"])
def test_what_is_no_photo_is_refused_and_kept_nowhere(as_dora, kit_of_dora, data):
    answer = upload(as_dora, kit_of_dora, data)
    assert answer.status_code == 422
    assert not KitPhoto.objects.exists()
    assert not default_storage.exists("photos")


def test_there_is_room_for_so_many(as_dora, kit_of_dora, picture):
    KitPhoto.objects.bulk_create(
        KitPhoto(kit=kit_of_dora, image="photos/x.webp", width=1, height=1)
        for _ in range(MAX_KIT_PHOTOS)
    )
    answer = upload(as_dora, kit_of_dora, picture)
    assert answer.status_code == 422
    assert f"A kit keeps {MAX_KIT_PHOTOS} photos at most; remove one first." in words(answer)


def test_it_is_removed_with_its_file_and_the_colours_stay(
    as_dora, kit_of_dora, photo, django_capture_on_commit_callbacks
):
    first = kit_of_dora.yarns.get(position=0)
    as_dora.post(at("kit_apply_marks", photo), fields(photo, blue=first.pk))
    with django_capture_on_commit_callbacks(execute=True):
        answer = as_dora.post(at("kit_remove_photo", photo))
    assert answer.headers["Location"] == at("kit_photos", kit_of_dora)
    assert not KitPhoto.objects.exists()
    assert not (settings.MEDIA_ROOT / photo.image.name).exists()
    assert KitYarn.objects.get(pk=first.pk).measured_by == MeasuredBy.PHOTO


def test_photos_are_the_maker_s_in_an_export_and_go_when_they_are_erased(
    dora, kit_of_dora, photo, django_capture_on_commit_callbacks
):
    theirs = {label: list(rows) for label, rows in belongings(dora)}
    assert theirs["palettes.kitphoto"] == [photo]
    assert len(theirs["palettes.kitmark"]) == 2
    somebody_else = {label: list(rows) for label, rows in belongings(make_user("Sam"))}
    assert not somebody_else["palettes.kitphoto"]
    assert (settings.MEDIA_ROOT / photo.image.name).exists()
    with django_capture_on_commit_callbacks(execute=True):
        erase_person(dora, now=NOON)
    assert not KitPhoto.objects.exists()
    assert not (settings.MEDIA_ROOT / photo.image.name).exists()
    assert Kit.objects.get().maker.email.endswith("@erased.invalid")
    assert kit_of_dora.yarns.count() == 2


def test_participants_photos_are_another_matter(as_dora, as_kit, kit, photo, picture):
    own = marking.add_marked_photo(kit, read_photo(picture), now=timezone.now())
    slug = kit.knit_along.slug
    assert as_dora.get(reverse("palettes:photo", args=[slug, own.pk])).status_code == 404
    assert as_kit.get(reverse("palettes:photo", args=[slug, own.pk])).status_code == 200
    assert (Photo.objects.count(), KitPhoto.objects.count()) == (1, 1)
    assert Mark.objects.filter(photo=own).exists()
