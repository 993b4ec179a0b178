"""What a participant's yarn page shows of each letter: forecast, history and a small drawing."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.utils.translation import gettext as _

from kal.models import Participant
from palettes.models.yarn_facts import YarnFacts
from palettes.translator import READERS_LANGUAGE
from schedule.models import WeighIn
from schedule.pattern.advice import advise
from schedule.pattern.forecast import Crowd, Forecast, forecast
from schedule.pattern.weigh_in import Usage
from schedule.weighing import (
    Weighing,
    bought_by_letter,
    crowd_of,
    put_up_of,
    standing,
    weighing,
    yarns_at_hand,
)
from schedule.yarn_plan import YarnPlan, plan_for
from schedule.yarn_words import (
    GROUND_WORDS,
    level_words,
    place_words,
    weight,
    weight_as_given,
    weight_range,
)

# Units of the drawing: pixels on a phone.
SPARK_WIDTH, SPARK_HEIGHT, SPARK_EDGE = 240, 64, 6


@dataclass(frozen=True)
class Spark:
    """A drawing of the grams left (up) by the planned grams knitted (right)."""

    line: str
    dots: tuple[tuple[float, float], ...]
    rest: str
    low_y: float
    high_y: float
    end_x: float


@dataclass(frozen=True)
class Moment:
    """One weigh-in, and what the rest was reckoned to take with it and those before."""

    weigh_in: WeighIn
    place: str
    left: str
    rest: str
    rest_range: str


@dataclass(frozen=True)
class LetterYarn:
    """One letter on the page; without a forecast `trouble` or the missing ball band says why."""

    letter: str
    yarn: YarnFacts | None
    forecast: Forecast | None
    trouble: str
    level: str
    ground: str
    left: str
    rest: str
    rest_range: str
    rate: str
    advice: tuple[str, ...]
    moments: tuple[Moment, ...]
    spark: Spark | None

    @property
    def is_worry(self) -> bool:
        return self.forecast is not None and self.forecast.is_worry


@dataclass(frozen=True)
class YarnPage:
    """Everything that one participant's yarn page shows."""

    plan: YarnPlan
    bought: Mapping[str, Decimal]
    weigh_ins: Sequence[WeighIn]
    letters: tuple[LetterYarn, ...]
    bought_words: tuple[tuple[str, str], ...]

    @property
    def worries(self) -> tuple[LetterYarn, ...]:
        return tuple(letter for letter in self.letters if letter.is_worry)


def yarn_page(participant: Participant, now: datetime) -> YarnPage:
    """Return the page's content as it stands at `now`."""
    at_hand = yarns_at_hand(participant, now)
    yarns = at_hand.by_letter
    bands = {letter: band for letter, yarn in yarns.items() if (band := put_up_of(yarn))}
    plan = plan_for(participant, now).in_yarns(bands)
    rows = list(participant.weigh_ins.select_related("clue"))
    bought = bought_by_letter(yarns, rows)
    made = weighing(plan, rows, bought)
    crowd = crowd_of(participant.knit_along, now)
    forecasts = forecast(made.usages, crowd)
    imperial = participant.user.reads_imperial
    moments = _moments(plan, rows, yarns, crowd, imperial=imperial)
    letters = tuple(
        _letter(
            letter,
            yarns.get(letter),
            made,
            forecasts,
            [moment for moment in moments if moment.weigh_in.letter == letter],
            plan,
            has_spare=at_hand.has_spare,
            imperial=imperial,
        )
        for letter in plan.totals
    )
    had = tuple(
        (letter, weight_as_given(bought[letter], imperial=imperial))
        for letter in plan.totals
        if letter in bought
    )
    return YarnPage(plan, bought, rows, letters, had)


def _moments(
    plan: YarnPlan,
    rows: Sequence[WeighIn],
    yarns: Mapping[str, YarnFacts],
    crowd: Crowd,
    *,
    imperial: bool,
) -> list[Moment]:
    found = []
    for place, row in enumerate(rows, start=1):
        until = rows[:place]
        usages = weighing(plan, until, bought_by_letter(yarns, until)).usages
        then = forecast(usages, crowd).get(row.letter)
        found.append(
            Moment(
                row,
                place_words(row),
                weight_as_given(row.left, imperial=imperial),
                weight(then.need, imperial=imperial) if then else "",
                weight_range(then.low, then.high, imperial=imperial) if then else "",
            )
        )
    return found


def _letter(
    letter: str,
    yarn: YarnFacts | None,
    made: Weighing,
    forecasts: Mapping[str, Forecast],
    moments: Sequence[Moment],
    plan: YarnPlan,
    *,
    has_spare: bool,
    imperial: bool,
) -> LetterYarn:
    mine, refused = forecasts.get(letter), made.troubles.get(letter)
    trouble = refused.words(READERS_LANGUAGE, imperial=imperial) if refused else ""
    if mine is None:
        blank = ("",) * 6
        return LetterYarn(letter, yarn, None, trouble, *blank, (), tuple(moments), None)
    advice = advise(letter, forecasts, put_up=put_up_of(yarn), has_spare=has_spare)
    return LetterYarn(
        letter=letter,
        yarn=yarn,
        forecast=mine,
        trouble=trouble,
        level=level_words(mine),
        ground=str(GROUND_WORDS[mine.ground]),
        left=weight_as_given(mine.left, imperial=imperial),
        rest=weight(mine.need, imperial=imperial),
        rest_range=weight_range(mine.low, mine.high, imperial=imperial),
        rate=_rate_words(mine),
        advice=tuple(one.words(READERS_LANGUAGE, imperial=imperial) for one in advice),
        moments=tuple(moments),
        spark=spark_of(made.usages[letter], mine, plan, [each.weigh_in for each in moments]),
    )


def _rate_words(mine: Forecast) -> str:
    if not mine.is_own:
        return ""
    percent = round(100 * (mine.rate - 1))
    if percent == 0:
        return _("You knit as the test knitter did.")
    if percent > 0:
        return _("You take about %(percent)d %% more than the plan.") % {"percent": percent}
    return _("You take about %(percent)d %% less than the plan.") % {"percent": -percent}


def spark_of(
    usage: Usage, mine: Forecast, plan: YarnPlan, weigh_ins: Sequence[WeighIn]
) -> Spark | None:
    """Return the drawing of one letter; None where it was never weighed or takes nothing."""
    points = [(float(each.planned), float(each.left)) for each in standing(plan, weigh_ins)]
    if not points or usage.total <= 0:
        return None
    top = max(*(left for _planned, left in points), mine.left, 1.0)

    def at(planned: float, left: float) -> tuple[float, float]:
        across = (SPARK_WIDTH - 2 * SPARK_EDGE) * planned / usage.total
        up = (SPARK_HEIGHT - 2 * SPARK_EDGE) * max(left, 0) / top
        return round(SPARK_EDGE + across, 1), round(SPARK_HEIGHT - SPARK_EDGE - up, 1)

    dots = tuple(at(*point) for point in points)
    here, end = at(usage.done, mine.left), at(usage.total, mine.left - mine.need)
    return Spark(
        line=_points(dots),
        dots=dots,
        rest=_points((here, end)),
        low_y=at(0, mine.left - mine.low)[1],
        high_y=at(0, mine.left - mine.high)[1],
        end_x=end[0],
    )


def _points(points: Sequence[tuple[float, float]]) -> str:
    return " ".join(f"{x:g},{y:g}" for x, y in points)
