"""An hour after the third of four clues came out, when what the crowd says is tested."""

import pytest
import time_machine

from schedule.models import Clue
from tests.builders import make_clue
from tests.web.crowd.pages import NOW


@pytest.fixture(autouse=True)
def clock():
    """The clock, which stands still until it is moved."""
    with time_machine.travel(NOW, tick=False) as traveller:
        yield traveller


@pytest.fixture
def clues(knit_along) -> list[Clue]:
    """Four clues, of which three are out."""
    return [make_clue(knit_along, number) for number in (1, 2, 3, 4)]
