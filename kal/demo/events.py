"""The demo's three knit-alongs: one finished, one running, one preparing."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from kal.demo.pattern import METRES_PER_GRAM, SCARF, SHAWL, Pattern
from kal.demo.times import CLUES, Rhythm, noon, running_rhythm

SIGN_UP_FOR = timedelta(weeks=8)
PREPARING_ZONE = "Europe/Lisbon"


@dataclass(frozen=True, slots=True)
class Event:
    """One knit-along as its organiser fills it in, and how much of it has happened.

    The first `members` of the crowd join, until `last_joined`; of those the last `drafts`, and
    the first person where `newcomer_drafts`, have not registered yet.
    """

    title: str
    theme: str
    zone: str
    cast_on: datetime
    sign_up_closes: datetime
    clue_count: int
    cadence_days: int
    grams: dict[str, int]
    last_joined: datetime
    members: int
    drafts: int
    join_rule: str = "open"
    text_name: str = ""
    pattern: Pattern | None = None
    written: int = 0
    newcomer_drafts: bool = False
    closes_palettes: bool = False

    @property
    def sign_up_opens(self) -> datetime:
        return self.sign_up_closes - SIGN_UP_FOR

    def is_draft(self, place: int) -> bool:
        """Return whether the member at `place`, from 0, has not registered yet."""
        return place >= self.members - self.drafts or (place == 0 and self.newcomer_drafts)

    def metres(self, letter: str) -> float:
        return self.grams[letter] * METRES_PER_GRAM


def events(now: datetime) -> list[Event]:
    """Return the knit-alongs as they stand at `now`, in the order they begin."""
    rhythm = running_rhythm(now)
    return [finished(now, rhythm.zone), running(rhythm), preparing(now)]


def finished(now: datetime, zone: str) -> Event:
    cast_on = noon(zone, now - timedelta(weeks=40))
    return Event(
        title="Moths in the Hedge",
        theme="A straight scarf in three colours: bark, wing and dusk.",
        zone=zone,
        cast_on=cast_on,
        sign_up_closes=cast_on,
        clue_count=len(SCARF.sections),
        cadence_days=7,
        grams=SCARF.needs(),
        last_joined=cast_on,
        members=40,
        drafts=0,
        text_name="scarf",
        pattern=SCARF,
        written=len(SCARF.sections),
        closes_palettes=True,
    )


def running(rhythm: Rhythm) -> Event:
    """The clue after the coming one is written too and waits; later ones are not written yet."""
    closes = rhythm.instants[0] - timedelta(days=2)
    return Event(
        title="Lamps along the Quay",
        theme=(
            "A harbour at nightfall, in five colours. Bring a wall, a lamp, the water, "
            "a window and a late boat, and let them be told apart in the dark."
        ),
        zone=rhythm.zone,
        cast_on=rhythm.instants[0],
        sign_up_closes=closes,
        clue_count=CLUES,
        cadence_days=rhythm.cadence_days,
        grams=SHAWL.needs(),
        last_joined=closes,
        members=60,
        drafts=6,
        join_rule="code",
        text_name="shawl",
        pattern=SHAWL,
        written=min(rhythm.coming + 1, CLUES),
    )


def preparing(now: datetime) -> Event:
    cast_on = noon(PREPARING_ZONE, now + timedelta(weeks=5))
    return Event(
        title="Kites over the Orchard",
        theme=(
            "A wide wrap for a windy day. Two of the five colours always meet on the same "
            "row, so bring a light, a dark, and three that you can tell apart between them."
        ),
        zone=PREPARING_ZONE,
        cast_on=cast_on,
        sign_up_closes=cast_on - timedelta(days=3),
        clue_count=5,
        cadence_days=7,
        grams={"A": 100, "B": 80, "C": 80, "D": 50, "E": 50},
        last_joined=now - timedelta(hours=2),
        members=30,
        drafts=14,
        newcomer_drafts=True,
    )
