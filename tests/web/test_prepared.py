"""A look-up that is put into SQL once gives the same rows as the QuerySet it was made of."""

from datetime import timedelta
from itertools import product
from typing import Any
from uuid import UUID

import pytest
from django.db import connections
from django.forms.models import model_to_dict

from kal.models import Participant
from kal.prepared import Prepared
from schedule.models import Attachment, Clue, Revision
from schedule.visibility import readable_attachment, readable_clues, readable_now
from tests.builders import NOON, make_clue, make_knit_along, make_participant
from tests.web.test_clues import attach


def members(user: int, slug: str):
    with_knit_along = Participant.objects.active().select_related("knit_along")
    return with_knit_along.filter(user=user, knit_along__slug=slug)


def whole(row):
    return {field.attname: getattr(row, field.attname) for field in row._meta.concrete_fields}


def test_rows_and_what_they_refer_to_are_whole(kit, hana, django_assert_num_queries):
    prepared = Prepared(members, int, str)
    for person in (kit, hana, kit):
        slug = person.knit_along.slug
        with django_assert_num_queries(1):
            (row,) = prepared.rows(person.user_id, slug)
            title = row.knit_along.title
        (plain,) = members(person.user_id, slug)
        assert whole(row) == whole(plain)
        assert whole(row.knit_along) == whole(plain.knit_along)
        assert title == person.knit_along.title
        row.save()
        assert model_to_dict(row) == model_to_dict(Participant.objects.get(pk=row.pk))


@pytest.mark.parametrize("slug", ["nowhere", "' OR 1=1 --", "mark-of-value-1", "%s"])
def test_values_are_values_whatever_they_look_like(kit, slug):
    assert Prepared(members, int, str).rows(kit.user_id, slug) == []


def test_what_changed_between_two_look_ups_is_seen(kit):
    prepared, slug = Prepared(members, int, str), kit.knit_along.slug
    assert prepared.rows(kit.user_id, slug) == [kit]
    Participant.objects.filter(pk=kit.pk).update(left_at=NOON)
    assert prepared.rows(kit.user_id, slug) == []


def test_a_uuid_is_a_value_as_each_database_writes_it(knit_along):
    file = attach(make_clue(knit_along))
    prepared = Prepared(lambda key: Attachment.objects.filter(key=key), UUID)
    assert prepared.rows(file.key) == [file]
    assert prepared.rows(UUID(int=0)) == []


def test_a_query_that_drops_a_value_is_refused(db):
    with pytest.raises(ValueError, match="not in list"):
        Prepared(lambda pk: Clue.objects.all(), int).rows(1)


def test_it_is_made_anew_for_another_connection(kit):
    prepared, slug = Prepared(members, int, str), kit.knit_along.slug
    prepared.rows(kit.user_id, slug)
    prepared._of_thread.plan.compiler.connection = object()
    assert prepared.rows(kit.user_id, slug) == [kit]
    assert prepared._of_thread.plan.compiler.connection is connections["default"]


def test_readable_rows_are_the_readable_clues_by_number(knit_along, hana, kit):
    """Both rules of the embargo agree, a second either side of every instant."""
    states: list[dict[str, Any]] = [{}, {"ready_at": None}, {"is_held": True}, {}]
    for number, state in enumerate(states, start=1):
        make_clue(knit_along, 5 - number, **state)
    make_clue(make_knit_along())
    for clue in knit_along.clues.all():
        for shift in (-1, 0, 1):
            now = clue.release_at + timedelta(seconds=shift)
            for person in (hana, kit, make_participant(knit_along)):
                expected = list(readable_clues(person, now).order_by("number"))
                assert readable_now(person, now) == expected


def test_a_readable_file_is_one_of_the_newest_revision_of_a_readable_clue(knit_along, hana, kit):
    """As its QuerySets have it, a second either side of every instant, for whoever asks."""
    states: list[dict[str, Any]] = [{}, {"ready_at": None}, {"is_held": True}]
    for number, state in enumerate(states, start=1):
        clue = make_clue(knit_along, number, **state)
        attach(clue)
        Revision.objects.create(clue=clue, number=2, saved_at=NOON).attachments.add(attach(clue))
    attach(make_clue(make_knit_along()))
    people, found = (hana, kit, make_participant(knit_along)), 0
    for clue, shift, person in product(knit_along.clues.all(), (-1, 0, 1), people):
        now = clue.release_at + timedelta(seconds=shift)
        files = Attachment.objects.filter(clue__in=readable_clues(person, now), clue=clue)
        expected = set(files if person.reads_early else files.in_newest_revision())
        keys = Attachment.objects.values_list("key", flat=True)
        readable = {readable_attachment(person, clue.number, key, now) for key in keys} - {None}
        assert readable == expected
        found += len(readable)
        for file, number in product(expected, (0, clue.number + 1, 10**30)):
            assert readable_attachment(person, number, file.key, now) is None
    assert found
