"""What to do about a letter that may run short."""

from decimal import Decimal

import pytest

from schedule.pattern.advice import Act, Advice, advise, swap_partners
from schedule.pattern.forecast import Forecast, Ground, Level, forecast
from schedule.pattern.put_ups import PutUp
from schedule.pattern.weigh_in import Usage

BALL = PutUp(Decimal(50), Decimal(200))


def made(letter="A", left=40.0, need=50.0, chance=0.9):
    """A forecast on the knitter's own weigh-ins, its interval 5 g either way."""
    return Forecast(letter, left, need, 1.0, need - 5, need, need + 5, chance, Ground.OWN)


def forecasts(*each):
    return {forecast.letter: forecast for forecast in each}


def acts(advice):
    return [each.act for each in advice]


def test_enough_yarn_gets_one_reassuring_sentence():
    (advice,) = advise("A", forecasts(made(left=80, chance=0.01)))
    assert advice.words() == "There is enough of A: about 30 g will be left."


def test_a_letter_that_was_never_weighed_is_to_be_weighed():
    never = Forecast("A", 80, 50, 1.0, 45, 50, 55, 0.01, Ground.CROWD)
    assert acts(advise("A", forecasts(never))) == [Act.NOTHING, Act.WEIGH]


def test_what_only_might_not_last_is_weighed_before_anything_is_bought():
    """Whoever has what is asked for, a tenth of it reserve, is told to weigh, not to buy."""
    unseen = forecast({"A": Usage("A", 100, 0, 110, 0, ())})["A"]
    assert (unseen.ground, unseen.level) == (Ground.PLAN, Level.WATCH)
    assert not unseen.is_worry
    assert acts(advise("A", forecasts(unseen), put_up=BALL)) == [Act.WEIGH]
    less = forecast({"A": Usage("A", 100, 0, 104, 0, ())})["A"]
    assert (less.ground, less.level) == (Ground.PLAN, Level.WATCH)
    assert less.is_worry
    assert Act.BUY in acts(advise("A", forecasts(less), put_up=BALL))
    seen = made(left=52, chance=0.2)
    assert seen.level is Level.WATCH
    assert Act.BUY in acts(advise("A", forecasts(seen), put_up=BALL))


def test_a_slip_is_put_right_before_anything_is_bought():
    odd = Forecast("A", 5, 50, 2.4, 100, 120, 140, 1.0, Ground.OWN, is_strange=True)
    (advice,) = advise("A", forecasts(odd), put_up=BALL)
    assert advice.act is Act.CHECK_READING
    assert "it says 2.4 times the plan" in advice.words()


def test_says_how_many_balls_make_it_safe():
    advice = advise("A", forecasts(made(left=0, need=60)), put_up=BALL)
    assert acts(advice) == [Act.BUY, Act.SAME_LOT, Act.BLEND_LOTS]
    assert advice[0].words().startswith("Get 2 more balls of A while it can be had: 65 g would")


def test_a_few_grams_may_come_from_somebody_elses_leftovers():
    advice = advise("A", forecasts(made(left=45)), put_up=BALL)
    assert Act.ASK_AROUND in acts(advice)
    assert "Get 1 more ball of A" in advice[0].words()
    assert Act.ASK_AROUND not in acts(advise("A", forecasts(made(left=30)), put_up=BALL))


def test_without_a_put_up_it_still_says_the_grams():
    assert "15 g would make it safe" in advise("A", forecasts(made(left=40)))[0].words()


def test_letters_swap_only_when_both_would_last():
    short = made("A", left=40, need=50)  # 55 g at the upper end
    fits = made("B", left=70, need=30)  # 35 g at the upper end
    too_hungry = made("C", left=90, need=38)  # 43 g at the upper end
    too_little = made("D", left=54, need=10)
    assert swap_partners(short, forecasts(short, fits, too_hungry, too_little)) == ("B",)
    advice = advise("A", forecasts(short, fits, too_hungry, too_little), put_up=BALL)
    (swap,) = [each for each in advice if each.act is Act.SWAP_LETTERS]
    assert "let A and B change places from the next clue on" in swap.words()


def test_the_letter_with_most_to_spare_is_named_first():
    short = made("A", left=40, need=50)
    both = forecasts(short, made("B", left=60, need=20), made("C", left=80, need=20))
    assert swap_partners(short, both) == ("C", "B")


def test_a_spare_is_offered_only_where_there_is_one():
    assert Act.USE_SPARE in acts(advise("A", forecasts(made()), has_spare=True))
    assert Act.USE_SPARE not in acts(advise("A", forecasts(made())))


@pytest.mark.parametrize("act", Act)
def test_every_code_has_words_that_fill(act):
    numbers: dict[str, float | str] = {
        "over": 1,
        "rate": "2.0",
        "balls": 1,
        "missing": 1,
        "other": "B",
    }
    text = Advice(act, "A", numbers).words()
    assert text.endswith(".")
    assert "{" not in text


def test_weights_can_be_said_in_ounces():
    advice = Advice(Act.NOTHING, "A", {"over": 30})
    assert advice.words(imperial=True) == "There is enough of A: about 1.1 oz will be left."
