"""Batches of single-use codes, imported buyers, moved places and refunds."""

import csv
from datetime import timedelta
from io import BytesIO, StringIO

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils import timezone
from pypdf import PdfReader

from kal.actions.batches import fresh_codes, make_batch
from kal.actions.joining import join
from kal.errors import CodeUsedUp, CodeWithdrawn
from kal.models import BuyersImport, CodeBatch, JoinCode, JoinListEntry, Removal, Role
from schedule.actions.feed_keys import renew_feed_key
from schedule.tidying import tidy_up
from tests.builders import (
    NOON,
    make_clue,
    make_knit_along,
    make_participant,
    make_registration,
    make_user,
)
from tests.conftest import signed_in
from tests.pages import words

pytestmark = pytest.mark.usefixtures("noon")

BUYERS = "email,name,order\nada@x.example,Ada,1001\nbo@x.example,=Bo(),1002\nwrong,,3\n"


def desk(knit_along, rest: str) -> str:
    return f"/k/{knit_along.slug}/desk/{rest}"


def table(response) -> list[list[str]]:
    return list(csv.reader(StringIO(response.content.decode("utf-8-sig"))))


class TestBatches:
    @pytest.fixture
    def batch(self, knit_along, hana) -> CodeBatch:
        return make_batch(
            knit_along, label="March", count=12, expires_at=None, by=hana.user, now=NOON
        )

    def test_makes_single_use_codes_under_one_label(self, knit_along, as_hana):
        data = {"label": "parcels", "count": "30", "good_until": "2027-03-20T18:00"}
        answer = as_hana.post(desk(knit_along, "codes/batches/"), data)
        batch = CodeBatch.objects.get()
        assert answer.headers["Location"] == desk(knit_along, f"codes/batches/{batch.pk}/")
        codes = batch.codes.all()
        assert len({code.code for code in codes}) == 30
        assert {(code.most_uses, code.expires_at) for code in codes} == {(1, batch.expires_at)}
        assert knit_along.audit_log.get().detail == {"count": 30, "label": "parcels"}

    @pytest.mark.parametrize(
        ("data", "sentence"),
        [
            ({"count": "0"}, "Make at least 1 code."),
            ({"count": "1001"}, "Make at most 1000 codes in one batch."),
            ({"label": ""}, "Name the batch"),
            ({"good_until": "2027-02-28T18:00"}, "That time has passed"),
        ],
    )
    def test_bad_input_is_one_sentence_and_makes_none(self, knit_along, as_hana, data, sentence):
        given = {"label": "x", "count": "5"} | data
        answer = as_hana.post(desk(knit_along, "codes/batches/"), given)
        assert answer.status_code == 422
        assert sentence in words(answer)
        assert not JoinCode.objects.exists()

    def test_a_code_admits_one_person(self, batch, knit_along):
        knit_along.join_rule = "code"
        knit_along.save()
        code = batch.codes.all()[0].code
        join(knit_along, make_user("Ada"), now=NOON, code=code)
        with pytest.raises(CodeUsedUp):
            join(knit_along, make_user("Bo"), now=NOON, code=code)

    def test_used_and_unused_are_told_apart_on_page_file_and_cards(
        self, knit_along, as_hana, batch, settings
    ):
        settings.BASE_URL = "https://kal.example"
        used, *others = batch.codes.order_by("pk")
        JoinCode.objects.filter(pk=used.pk).update(uses=1)
        page = words(as_hana.get(desk(knit_along, f"codes/batches/{batch.pk}/")))
        assert "1 of 12 codes used." in page
        heading, first, *_ = table(as_hana.get(desk(knit_along, f"codes/batches/{batch.pk}/list/")))
        assert heading == ["code", "address", "batch", "state"]
        assert first[0] == used.spaced
        assert first[1] == f"https://kal.example/k/{knit_along.slug}/join/?code={used.code}"
        assert first[2:] == ["March", "used"]
        answer = as_hana.get(desk(knit_along, f"codes/batches/{batch.pk}/cards/"))
        assert answer["Cache-Control"] == "private, no-store"
        pages = PdfReader(BytesIO(answer.content)).pages
        text = " ".join(page.extract_text() for page in pages)
        assert len(pages) == 2
        assert used.spaced not in text
        assert all(code.spaced in text for code in others)

    @pytest.mark.parametrize(
        "query", ["?paper=a3", "?cards=9", "?paper=letter&cards=x", "?part=2", "?part=0"]
    )
    def test_there_are_no_other_sheets(self, knit_along, as_hana, batch, query):
        address = desk(knit_along, f"codes/batches/{batch.pk}/cards/{query}")
        assert as_hana.get(address).status_code == 404

    def test_many_cards_come_in_files_of_two_hundred(self, knit_along, hana, as_hana):
        batch = make_batch(
            knit_along, label="many", count=203, expires_at=None, by=hana.user, now=NOON
        )
        page = words(as_hana.get(desk(knit_along, f"codes/batches/{batch.pk}/")))
        assert "Cards of codes 201 to 203 (PDF)" in page
        JoinCode.objects.filter(pk=batch.codes.order_by("pk")[201].pk).update(uses=1)
        answer = as_hana.get(desk(knit_along, f"codes/batches/{batch.pk}/cards/?part=2&cards=4"))
        (sheet,) = PdfReader(BytesIO(answer.content)).pages
        text = sheet.extract_text()
        last = batch.codes.order_by("pk")[200:]
        assert [code.spaced in text for code in last] == [True, False, True]

    def test_cancelling_withdraws_what_is_unused_once(self, knit_along, as_hana, batch):
        knit_along.join_rule = "code"
        knit_along.save()
        first, second = batch.codes.all()[:2]
        ada = join(knit_along, make_user("Ada"), now=NOON, code=first.code)
        for _ in range(2):
            as_hana.post(desk(knit_along, f"codes/batches/{batch.pk}/cancel/"))
        with pytest.raises(CodeWithdrawn):
            join(knit_along, make_user("Bo"), now=NOON, code=second.code)
        ada.refresh_from_db()
        assert ada.left_at is None
        cancelled = knit_along.audit_log.filter(act="cancelled a batch of join codes")
        assert [entry.detail["count"] for entry in cancelled] == [11]
        answer = as_hana.get(desk(knit_along, f"codes/batches/{batch.pk}/cards/"), follow=True)
        assert "No code here admits anybody any more." in words(answer)

    def test_a_formula_as_a_label_is_words_in_the_file(self, knit_along, hana, as_hana):
        batch = make_batch(
            knit_along, label="=1+1", count=1, expires_at=None, by=hana.user, now=NOON
        )
        rows = table(as_hana.get(desk(knit_along, f"codes/batches/{batch.pk}/list/")))
        assert rows[1][2] == "'=1+1"

    def test_another_knit_alongs_batch_is_out_of_reach(self, knit_along, as_hana, hana):
        other = make_batch(
            make_knit_along(), label="x", count=1, expires_at=None, by=hana.user, now=NOON
        )
        for rest in ("", "cards/", "list/"):
            address = desk(knit_along, f"codes/batches/{other.pk}/{rest}")
            assert as_hana.get(address).status_code == 404
        address = desk(knit_along, f"codes/batches/{other.pk}/cancel/")
        assert as_hana.post(address).status_code == 404
        assert other.codes.filter(withdrawn_at=None).exists()

    def test_lists_take_the_same_queries(
        self, knit_along, as_hana, hana, batch, django_assert_num_queries
    ):
        for n in range(9):
            make_batch(
                knit_along, label=f"b{n}", count=120, expires_at=None, by=hana.user, now=NOON
            )
        with django_assert_num_queries(5):  # session, user, membership, count, batches
            as_hana.get(desk(knit_along, "codes/batches/"))
        largest = CodeBatch.objects.latest("pk")
        with django_assert_num_queries(7):  # …, batch, count, codes, used
            as_hana.get(desk(knit_along, f"codes/batches/{largest.pk}/"))

    def test_fresh_codes_are_as_many_as_asked_for_and_taken_by_nobody(self, batch):
        assert len(set(fresh_codes(200))) == 200
        assert not set(fresh_codes(200)) & set(batch.codes.values_list("code", flat=True))


class TestBuyers:
    def upload(self, client, knit_along, content=BUYERS, name="march.csv"):
        body = content.encode() if isinstance(content, str) else content
        data = {"file": SimpleUploadedFile(name, body)}
        return client.post(desk(knit_along, "join-list/import/"), data)

    def confirm(self, client, knit_along):
        found = BuyersImport.objects.latest("pk")
        address = desk(knit_along, f"join-list/import/{found.pk}/confirm/")
        return client.post(address, follow=True)

    def listed(self, knit_along):
        return [entry.email for entry in knit_along.join_list.all()]

    def test_it_is_looked_at_before_anything_is_done(self, knit_along, as_hana):
        answer = self.upload(as_hana, knit_along)
        page = words(as_hana.get(answer.headers["Location"]))
        assert "2 addresses would be added." in page
        assert "1 row is left out" in page
        assert "Row 4: “wrong” is not a mail address." in page
        assert self.listed(knit_along) == []
        assert "2 addresses are on the list now." in words(self.confirm(as_hana, knit_along))
        entry = JoinListEntry.objects.get(email="ada@x.example")
        assert (entry.name, entry.order_reference) == ("Ada", "1001")
        assert BuyersImport.objects.get().rows == []
        assert knit_along.audit_log.get().detail == {"count": 2, "file": "march.csv"}

    @pytest.mark.parametrize("rule", ["code", "list"])
    def test_a_list_that_the_rule_does_not_look_at_is_told_before_and_after(
        self, knit_along, as_hana, rule
    ):
        knit_along.join_rule = rule
        knit_along.save()
        uploaded = self.upload(as_hana, knit_along).headers["Location"]
        pages = [
            words(as_hana.get(desk(knit_along, "join-list/import/"))),
            words(as_hana.get(uploaded)),
            words(self.confirm(as_hana, knit_along)),
        ]
        for page in pages:
            assert ("The list is not looked at now" in page) is (rule == "code")
            assert (f'href="{desk(knit_along, "edit/")}">Change the rule' in page) is (
                rule == "code"
            )
        assert ("Nobody gets in by it yet" in pages[2]) is (rule == "code")

    def test_the_same_file_and_the_same_yes_twice_change_nothing(self, knit_along, as_hana):
        self.upload(as_hana, knit_along)
        self.confirm(as_hana, knit_along)
        assert "was imported before" in words(self.confirm(as_hana, knit_along))
        JoinListEntry.objects.filter(email="ada@x.example").update(name="Ada Lark")
        answer = self.upload(as_hana, knit_along)
        page = words(as_hana.get(answer.headers["Location"]))
        assert "0 addresses would be added. 2 are on the list already" in page
        self.confirm(as_hana, knit_along)
        assert knit_along.join_list.count() == 2
        assert knit_along.join_list.get(email="ada@x.example").name == "Ada Lark"

    def test_undoing_takes_back_what_nobody_has_used(self, knit_along, as_hana):
        JoinListEntry.objects.create(knit_along=knit_along, email="before@x.example")
        knit_along.join_rule = "list"
        knit_along.save()
        self.upload(as_hana, knit_along)
        self.confirm(as_hana, knit_along)
        join(knit_along, make_user("Ada", email="ada@x.example"), now=NOON)
        address = desk(knit_along, f"join-list/import/{BuyersImport.objects.get().pk}/undo/")
        page = words(as_hana.post(address, follow=True))
        assert "Undone: 1 taken off the list, 1 kept because they have joined." in page
        assert self.listed(knit_along) == ["ada@x.example", "before@x.example"]
        assert "nothing to undo" in words(as_hana.post(address, follow=True))

    def test_a_refused_file_keeps_nothing(self, knit_along, as_hana):
        for content in (b"", "email\nzo\xeb@x.example".encode("latin-1"), b"a" * 4_000_001):
            answer = self.upload(as_hana, knit_along, content)
            assert answer.status_code == 422
        assert "4 MB; split it" in words(answer)
        assert not BuyersImport.objects.exists()

    def test_script_in_a_file_is_shown_as_words(self, knit_along, as_hana):
        text = "email,name\n<script>alert(1)</script>,x\nada@x.example,<img src=x>\n"
        answer = self.upload(as_hana, knit_along, text, name="<b>.csv")
        page = as_hana.get(answer.headers["Location"]).content.decode()
        assert "<script>alert" not in page
        assert "<img src=x>" not in page
        assert "&lt;img src=x&gt;" in page

    def test_only_one_file_waits_at_a_time(self, knit_along, as_hana):
        self.upload(as_hana, knit_along)
        self.upload(as_hana, knit_along, "email\nzo@x.example\n")
        assert BuyersImport.objects.get().rows == [["zo@x.example", "", ""]]

    def test_one_that_waits_is_found_again_and_says_how_long_it_is_kept(self, knit_along, as_hana):
        answer = self.upload(as_hana, knit_along)
        page = words(as_hana.get(answer.headers["Location"]))
        assert "If nobody says yes by Monday 8 March 2027, the file is deleted" in page
        listed = words(as_hana.get(desk(knit_along, "join-list/import/")))
        assert "<strong>march.csv</strong> waits for your yes." in listed
        assert f'href="{answer.headers["Location"]}"' in listed

    def test_one_without_a_yes_is_deleted_after_seven_days_and_no_other(self, knit_along, as_hana):
        with time_machine.travel(NOON, tick=False) as clock:
            self.upload(as_hana, knit_along)
            self.confirm(as_hana, knit_along)
            answer = self.upload(as_hana, knit_along, "email\nzo@x.example\n")
            clock.shift(timedelta(days=7, seconds=-1))
            assert tidy_up(now=timezone.now()).imports == 0
            clock.shift(timedelta(seconds=1))
            assert tidy_up(now=timezone.now()).imports == 1
            assert as_hana.get(answer.headers["Location"]).status_code == 404
            confirming = f"{answer.headers['Location']}confirm/"
            assert as_hana.post(confirming).status_code == 404
        (kept,) = BuyersImport.objects.all()
        assert kept.confirmed_at == NOON
        assert self.listed(knit_along) == ["ada@x.example", "bo@x.example"]

    def test_the_list_is_saved_without_formulas(self, knit_along, as_hana):
        self.upload(as_hana, knit_along)
        self.confirm(as_hana, knit_along)
        assert table(as_hana.get(desk(knit_along, "join-list/file/"))) == [
            ["mail address", "name", "order reference", "has joined"],
            ["ada@x.example", "Ada", "1001", "no"],
            ["bo@x.example", "'=Bo()", "1002", "no"],
        ]

    def test_another_knit_alongs_import_is_out_of_reach(self, knit_along, as_hana):
        other = BuyersImport.objects.create(
            knit_along=make_knit_along(),
            file_name="x",
            rows=[["a@x.example", "", ""]],
            read_at=NOON,
        )
        assert as_hana.get(desk(knit_along, f"join-list/import/{other.pk}/")).status_code == 404
        for act in ("confirm", "undo"):
            address = desk(knit_along, f"join-list/import/{other.pk}/{act}/")
            assert as_hana.post(address).status_code == 404
        assert not JoinListEntry.objects.exists()

    def test_a_crowd_is_imported_in_as_many_queries_as_its_size_in_five_hundreds(
        self, knit_along, as_hana, django_assert_max_num_queries
    ):
        lines = "\n".join(f"p{n}@x.example,P {n},{n}" for n in range(3000))
        self.upload(as_hana, knit_along, f"email,name,order\n{lines}\n")
        found = BuyersImport.objects.get()
        with django_assert_max_num_queries(20):
            as_hana.post(desk(knit_along, f"join-list/import/{found.pk}/confirm/"))
        assert knit_along.join_list.count() == 3000
        with django_assert_max_num_queries(20):
            as_hana.post(desk(knit_along, f"join-list/import/{found.pk}/undo/"))
        assert not knit_along.join_list.exists()


class TestPlaces:
    def move(self, client, knit_along, old, new, reason="gave it to a friend"):
        data = {"old": old, "new": new, "reason": reason}
        return client.post(desk(knit_along, "people/transfer/"), data)

    def test_the_place_moves_and_the_palette_stays(self, knit_along, kit, as_hana, as_kit, sam):
        knit_along.join_rule = "code"
        knit_along.save()
        make_clue(knit_along, 1)
        registration = make_registration(kit)
        assert as_kit.get(f"/k/{knit_along.slug}/clues/1/").status_code == 200
        assert self.move(as_hana, knit_along, kit.user.email, sam.email.upper()).status_code == 302
        assert as_kit.get(f"/k/{knit_along.slug}/clues/1/").status_code == 404
        kit.refresh_from_db()
        assert kit.removal == Removal.TRANSFERRED
        assert kit.palette.registration == registration
        page = words(signed_in(kit.user).get(f"/k/{knit_along.slug}/join/"))
        assert "Your place went to another mail address" in page
        with time_machine.travel(knit_along.sign_up_closes_at, tick=False):
            as_sam = signed_in(sam)
            page = words(as_sam.get(f"/k/{knit_along.slug}/join/"))
            assert "Join code" not in page
            assert as_sam.post(f"/k/{knit_along.slug}/join/").status_code == 302
            assert as_sam.get(f"/k/{knit_along.slug}/clues/1/").status_code == 200
        assert not sam.memberships.get().photos.exists()
        log = knit_along.audit_log.get(act="moved a place")
        assert log.detail == {
            "before": kit.user.email,
            "after": sam.email,
            "why": "gave it to a friend",
        }

    def test_an_unused_entry_moves_with_its_order_and_outlives_its_import(
        self, knit_along, as_hana
    ):
        TestBuyers().upload(as_hana, knit_along)
        TestBuyers().confirm(as_hana, knit_along)
        self.move(as_hana, knit_along, "ada@x.example", "zo@x.example")
        entry = knit_along.join_list.get(email="zo@x.example")
        assert (entry.name, entry.order_reference, entry.is_transferred) == ("", "1001", True)
        as_hana.post(desk(knit_along, f"join-list/import/{BuyersImport.objects.get().pk}/undo/"))
        assert [one.email for one in knit_along.join_list.all()] == ["zo@x.example"]

    def test_a_place_can_come_back(self, knit_along, kit, as_hana, sam):
        self.move(as_hana, knit_along, kit.user.email, sam.email)
        join(knit_along, sam, now=NOON)
        self.move(as_hana, knit_along, sam.email, kit.user.email)
        assert join(knit_along, kit.user, now=NOON).pk == kit.pk

    def test_refusals_are_one_sentence_and_keep_what_was_typed(
        self, knit_along, kit, hana, as_hana, sam
    ):
        other = make_participant(knit_along, "Fern")
        away = make_participant(knit_along, "Gone", left_at=NOON, removed_at=NOON)
        JoinListEntry.objects.create(knit_along=knit_along, email="listed@x.example")
        for old, new, sentence in (
            (kit.user.email, kit.user.email, "Both addresses are the same"),
            ("nobody@x.example", sam.email, "nobody@x.example neither takes part nor"),
            (kit.user.email, other.user.email, "takes part already."),
            (kit.user.email, "listed@x.example", "is on the join list already"),
            (kit.user.email, away.user.email, "was sent away; let them back in first."),
            (hana.user.email, sam.email, "is the only organiser"),
        ):
            answer = self.move(as_hana, knit_along, old, new)
            assert answer.status_code == 422
            assert sentence in words(answer)
            assert f'value="{new}"' in words(answer)
        assert not knit_along.audit_log.exists()
        assert knit_along.participants.active().count() == 3

    @pytest.mark.parametrize("role", [Role.CO_ORGANISER, Role.MODERATOR, Role.PARTICIPANT])
    def test_nobody_but_an_organiser(self, knit_along, role):
        client = signed_in(make_participant(knit_along, "Otto", role).user)
        pages = ("people/transfer/", "join-list/import/", "join-list/file/", "codes/batches/")
        for rest in pages:
            assert client.get(desk(knit_along, rest)).status_code == 404
            assert client.post(desk(knit_along, rest)).status_code in (404, 405)


class TestRefund:
    def test_access_ends_at_once_and_the_data_is_kept(self, knit_along, kit, as_hana, as_kit):
        make_clue(knit_along, 1)
        make_registration(kit)
        feed = f"/k/{knit_along.slug}/feed/{renew_feed_key(kit, now=NOON).token}/clues.ics"
        data = {"removal": "refunded", "reason": "parcel lost"}
        page = as_hana.post(desk(knit_along, f"people/{kit.pk}/remove/"), data, follow=True)
        assert "is refunded: access has ended, and what they brought is kept." in words(page)
        for rest in ("clues/", "clues/1/", "palette/", "gallery/"):
            assert as_kit.get(f"/k/{knit_along.slug}/{rest}").status_code == 404
        assert as_kit.get(feed).status_code == 404
        assert kit.palette.yarns.count() == 5
        page = words(as_hana.get(desk(knit_along, "people/?show=removed")))
        assert "refunded: “parcel lost”" in page
        answer = as_kit.post(f"/k/{knit_along.slug}/join/")
        assert "Your place was refunded" in words(answer)
        log = knit_along.audit_log.get()
        assert (log.act, log.detail["why"]) == ("refunded a participant", "parcel lost")
        as_hana.post(desk(knit_along, f"people/{kit.pk}/let-back/"))
        assert as_kit.get(f"/k/{knit_along.slug}/clues/1/").status_code == 200
        kit.refresh_from_db()
        assert (kit.removal, kit.removal_reason) == ("", "")

    def test_a_reason_too_long_ends_nothing(self, knit_along, kit, as_hana):
        data = {"removal": "banished", "reason": "x" * 201}
        answer = as_hana.post(desk(knit_along, f"people/{kit.pk}/remove/"), data)
        assert answer.status_code == 422
        kit.refresh_from_db()
        assert kit.left_at is None


def test_whoever_joins_late_gets_everything_released_so_far(knit_along, sam):
    for number in (1, 2, 3):
        make_clue(knit_along, number)
    with time_machine.travel(knit_along.clues.get(number=2).release_at, tick=False):
        join(knit_along, sam, now=knit_along.clues.get(number=2).release_at)
        client = signed_in(sam)
        found = [client.get(f"/k/{knit_along.slug}/clues/{n}/").status_code for n in (1, 2, 3)]
    assert found == [200, 200, 404]
