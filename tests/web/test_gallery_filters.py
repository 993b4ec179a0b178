"""What the gallery can be asked, alone and together, and its answer when nobody is like that."""

import pytest
from django.db import connection
from django.http import QueryDict
from django.utils import timezone

from palettes.actions import register_palette
from palettes.gallery import COUNTED, read_page
from palettes.gallery_form import GalleryFilterForm
from palettes.models import GalleryEntry, Yarn
from palettes.models.gallery import in_index_order
from tests.builders import make_palette, make_participant, make_yarn
from tests.web.test_gallery import BLUE, GREYS, RED, address, register, shown

TEAL = (50.0, -35.0, -8.0)


def register_yarns(knit_along, *yarns):
    """Register five yarns: those given by their fields, and mid-greys for the rest."""
    palette = make_palette(make_participant(knit_along, "Ann", shows_palette=True))
    for n in range(5):
        fields = {"lab_l": 50.0, "lab_a": 0.0, "lab_b": 0.0}
        fields |= yarns[n] if n < len(yarns) else {}
        make_yarn(palette, place=Yarn.Place.CHOSEN, position=n, **fields)
    return register_palette(palette, now=timezone.now())[0]


def ask(client, knit_along, query):
    return client.get(f"{address('gallery', knit_along)}?{query}")


class TestAsking:
    """Each question finds those it is about, and no other."""

    @pytest.fixture
    def crowd(self, knit_along):
        return {
            "greys": register(knit_along),
            "red": register(knit_along, labs=(RED,) * 5),
            "mostly red": register(knit_along, labs=(RED, RED, RED, BLUE, GREYS[4])),
            "blue": register(knit_along, labs=(*GREYS[:4], BLUE)),
            "teal": register_yarns(
                knit_along,
                {
                    "name": "Élan Gull 4ply",
                    "fibre": "70% alpaca, 30% silk",
                    "dye_style": "speckled",
                    **dict(zip(("lab_l", "lab_a", "lab_b"), TEAL, strict=True)),
                },
                {"name": "Slate Heath", "fibre": "linen"},
            ),
        }

    @pytest.mark.parametrize(
        ("query", "found"),
        [
            ("family=red", {"red", "mostly red"}),
            ("family=red&family=blue", {"red", "mostly red", "blue"}),
            ("family=red&family=blue&match=all", {"mostly red"}),
            ("family=red&share=half", {"red", "mostly red"}),
            ("family=red&share=all", {"red"}),
            ("family=neutral&share=half", {"greys", "blue", "teal"}),
            ("darkest=40", {"red", "mostly red", "teal"}),
            ("lightest=50", {"red", "teal"}),
            ("darkest=20&lightest=80", None),
            ("reach=narrow", {"red", "teal"}),
            ("reach=wide", {"greys"}),
            ("worst=strong", set()),
            ("worst=close&mean=strong", {"greys", "blue"}),
            ("worst=close", {"greys", "blue"}),
            ("scheme=monochromatic", {"red"}),
            ("scheme=neutral", {"greys"}),
            ("fibre=silk", {"teal"}),
            ("fibre=plant", {"teal"}),
            ("fibre=synthetic", set()),
            ("dye=speckled", {"teal"}),
            ("dye=speckled&dye=variegated", {"teal"}),
            ("words=elan", {"teal"}),
            ("words=gul+sla", {"teal"}),
            ("words=ull", set()),
            ("words=alpaca", {"teal"}),
            ("words=gull&family=red", set()),
            ("words=%25", None),
            ("words='", None),
        ],
    )
    def test_finds(self, as_kit, knit_along, crowd, query, found):
        response = ask(as_kit, knit_along, query)
        assert response.status_code == 200
        expected = set(crowd) if found is None else found
        assert set(shown(response)) == {crowd[name].pk for name in expected}
        assert response.context["found"] == len(expected)

    def test_a_share_of_all_families_at_once(self, as_kit, knit_along, crowd):
        response = ask(as_kit, knit_along, "family=red&family=blue&match=all&share=half")
        assert shown(response) == []

    def test_what_is_hidden_is_neither_shown_nor_counted(self, as_kit, knit_along, crowd):
        participant = crowd["teal"].palette.participant
        participant.shows_palette = False
        participant.save()
        response = ask(as_kit, knit_along, "words=elan")
        assert shown(response) == []
        assert response.context["found"] == 0


class TestAddress:
    """What is asked is in the address, and each part of it can be taken away."""

    def test_what_is_left_empty_is_left_out(self, as_kit, knit_along):
        response = ask(as_kit, knit_along, "words=&run=dark&family=&family=red&kit=")
        assert response.status_code == 302
        assert response["Location"] == f"{address('gallery', knit_along)}?run=dark&family=red"

    def test_each_chip_leaves_one_thing_out(self, as_kit, knit_along):
        register(knit_along, labs=(RED,) * 5)
        response = ask(as_kit, knit_along, "family=red&family=blue&scheme=monochromatic")
        page = address("gallery", knit_along)
        assert {chip.words: chip.without for chip in response.context["chips"]} == {
            "some red": f"{page}?family=blue&scheme=monochromatic",
            "some blue": f"{page}?family=red&scheme=monochromatic",
            "monochromatic": f"{page}?family=red&family=blue",
        }

    def test_nobody_is_like_that_and_what_to_leave_out(self, as_kit, knit_along):
        register(knit_along)
        text = ask(as_kit, knit_along, "family=red&words=gull").content.decode()
        assert "Nobody shows a palette with all of that together yet." in text
        assert "without “some red”" in text
        assert "without ““gull” in a yarn" in text

    @pytest.mark.parametrize("query", ["darkest=101", "lightest=-1", "darkest=white", "kit=7"])
    def test_what_cannot_be_is_said_and_kept(self, as_kit, knit_along, query):
        registration = register(knit_along)
        response = ask(as_kit, knit_along, query)
        if query == "kit=7":  # nobody offers a kit here, so nothing is asked
            assert response.status_code == 200
        else:
            assert response.status_code == 400
            assert "a whole number from 0 to 100" in response.content.decode()
            assert f'value="{query.partition("=")[2]}"' in response.content.decode()
        assert shown(response) == [registration.pk]

    def test_script_in_the_words_is_only_words(self, as_kit, knit_along):
        text = ask(as_kit, knit_along, "words=<script>alert(1)</script>").content.decode()
        assert "<script>alert" not in text

    def test_more_letters_than_fit_are_refused(self, as_kit, knit_along):
        assert ask(as_kit, knit_along, f"words={'x' * 10_000}").status_code == 400


def test_it_counts_no_further_than_it_says(knit_along, monkeypatch):
    monkeypatch.setattr("palettes.gallery.COUNTED", 1)
    for _ in range(3):
        register(knit_along)
    assert read_page(knit_along).found == 2
    assert COUNTED > 1


@pytest.mark.parametrize(
    "query",
    [
        "",
        "family=teal&family=red&match=all&share=half",
        "run=dark&darkest=10&lightest=90&reach=wide",
        "worst=close&mean=workable&scheme=neutral&fibre=silk&dye=solid",
        "words=gull",
    ],
)
def test_a_page_is_found_by_the_index_in_its_order(knit_along, query):
    for _ in range(3):
        register(knit_along)
    wanted = GalleryFilterForm(QueryDict(query), kits=()).wanted
    entries = wanted.among(GalleryEntry.objects.shown_in(knit_along)).defer("words")
    with connection.cursor() as cursor, in_index_order():
        if connection.vendor == "postgresql":
            # So few rows are quicker read whole; of many, docs/gallery.md has the plans.
            cursor.execute("SET LOCAL enable_seqscan = off")
            cursor.execute("SET LOCAL enable_bitmapscan = off")
        plan = entries.order_by("-registration_id")[:25].explain()
    assert "gallery_newest_first" in plan
    assert "TEMP B-TREE" not in plan
    assert read_page(knit_along, wanted).entries is not None


@pytest.mark.skipif(connection.vendor != "postgresql", reason="SQLite has no such settings")
def test_what_follows_in_the_same_transaction_may_sort_again(knit_along):
    GalleryEntry.objects.shown_in(knit_along).walk("-registration_id", 5)
    with connection.cursor() as cursor:
        cursor.execute("SHOW enable_sort")
        assert cursor.fetchone() == ("on",)
