"""The schedule and the hour that pages are tested at; a file with another makes its own."""

import pytest
import time_machine

from schedule.models import Clue
from tests.builders import NOON, make_clue


@pytest.fixture
def noon():
    """Stop the clock at noon, before anybody signs in, so that no session has run out."""
    with time_machine.travel(NOON, tick=False):
        yield NOON


@pytest.fixture
def clues(knit_along) -> list[Clue]:
    """Three clues, due at cast-on and each a week after the last."""
    return [make_clue(knit_along, number) for number in (1, 2, 3)]


@pytest.fixture
def desk(knit_along) -> str:
    """The address of the schedule at the organiser's desk."""
    return f"/k/{knit_along.slug}/desk/clues/"
