"""The demo's kits: one shown, one waiting, each of as many yarns as the pattern takes."""

import pytest

from kal.demo.load import load_demo
from kal.models import JoinCode, KnitAlong
from palettes.models import Kit
from tests.builders import NOON


@pytest.mark.django_db
def test_kits_are_offered_where_palettes_are_open_and_codes_where_they_are_asked_for():
    load_demo(NOON)
    for knit_along in KnitAlong.objects.all():
        kits = Kit.objects.filter(maker__knit_along=knit_along)
        states = sorted(kit.state for kit in kits)
        is_open = knit_along.palettes_closed_at is None
        assert states == (["approved", "proposed"] if is_open else [])
        assert all(kit.yarns.count() == knit_along.colour_count for kit in kits)
        batch = JoinCode.objects.filter(knit_along=knit_along).exclude(batch=None)
        assert batch.count() == (24 if knit_along.join_rule == "code" else 0)
    assert Kit.objects.count() == 4
