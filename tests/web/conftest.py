"""The schedule that pages of it are tested on; a file with another makes its own."""

import pytest

from schedule.models import Clue
from tests.builders import make_clue


@pytest.fixture
def clues(knit_along) -> list[Clue]:
    """Three clues, due at cast-on and each a week after the last."""
    return [make_clue(knit_along, number) for number in (1, 2, 3)]


@pytest.fixture
def desk(knit_along) -> str:
    """The address of the schedule at the organiser's desk."""
    return f"/k/{knit_along.slug}/desk/clues/"
