"""Rules that hold for any section, any yarn and any weighing, not only for the examples."""

import math
from decimal import Decimal
from fractions import Fraction

from hypothesis import assume, given
from hypothesis import strategies as st

from palettes.colour.quantities import (
    grams_from_ounces,
    metres_from_yards,
    ounces_from_grams,
    yards_from_metres,
)
from schedule.pattern.consistency import find_problems
from schedule.pattern.forecast import forecast
from schedule.pattern.gauge import Gauge, same_stitches_factor
from schedule.pattern.pace import hours_for, timed_pace
from schedule.pattern.put_ups import PutUp, balls_to_buy, mix_put_ups
from schedule.pattern.stitches import (
    BindOff,
    Section,
    row_at,
    row_shares,
    share_after,
    stitches_by_letter,
    total_rows,
    total_stitches,
)
from schedule.pattern.weigh_in import WeighIn, read_weigh_ins
from schedule.pattern.yarn import (
    from_swatch,
    from_test_knits,
    yarn_stitches,
)

amounts = st.decimals(Decimal("0.01"), 9999, places=2)
gauges = st.floats(5, 60)


@st.composite
def patterns(draw):
    """A few sections, each starting where the one before ends, and a bind-off."""
    parts, count = [], draw(st.integers(1, 200))
    for number in range(draw(st.integers(1, 4))):
        changes = tuple(draw(st.lists(st.integers(0, 8), min_size=1, max_size=4)))
        letters = draw(st.text("ABC", min_size=1, max_size=3))
        rows = draw(st.integers(0, 40))
        parts.append(Section(f"Section {number}", count, rows, changes, letters))
        count = parts[-1].end
    return [*parts, BindOff("Bind off", count)]


class TestStitches:
    """Shares add up to one, sections that meet have no problems, and letters share the stitches."""

    @given(patterns())
    def test_sum_of_shares_is_exactly_one(self, parts):
        assert sum(row_shares(parts)) == Fraction(1)

    @given(patterns(), st.data())
    def test_row_and_share_go_there_and_back(self, parts, data):
        row = data.draw(st.integers(0, total_rows(parts)))
        assert row_at(parts, share_after(parts, row)) == row

    @given(patterns(), st.floats(0, 1))
    def test_the_row_of_a_share_is_the_first_to_reach_it(self, parts, share):
        row = row_at(parts, share)
        assert share_after(parts, row) >= Fraction(share)
        assert row == 0 or share_after(parts, row - 1) < Fraction(share)

    @given(patterns())
    def test_sections_that_meet_have_no_problems_and_one_off_has_one(self, parts):
        assert find_problems(parts) == ()
        assert len(find_problems([*parts[:-1], BindOff("Bind off", parts[-1].start + 1)])) == 1

    @given(patterns())
    def test_letters_share_out_every_stitch(self, parts):
        assert sum(stitches_by_letter(parts).values()) == total_stitches(parts)

    @given(st.integers(1, 200), st.integers(0, 99), st.integers(0, 8))
    def test_one_more_row_is_never_less_yarn(self, start, rows, change):
        less, more = (Section("Body", start, r, (change, 0)) for r in (rows, rows + 1))
        assert sum(yarn_stitches([more]).values()) > sum(yarn_stitches([less]).values())


class TestYarn:
    """Units come back exactly, and more stitches never take less of anything."""

    @given(amounts)
    def test_yards_and_ounces_come_back_exactly(self, amount):
        assert yards_from_metres(metres_from_yards(amount)) == amount
        assert ounces_from_grams(grams_from_ounces(amount)) == amount

    @given(amounts)
    def test_metres_and_grams_come_back_to_the_last_digit_typed(self, amount):
        assert metres_from_yards(yards_from_metres(amount)).quantize(amount) == amount
        assert grams_from_ounces(ounces_from_grams(amount)).quantize(amount) == amount

    @given(amounts, amounts, amounts)
    def test_grams_and_metres_of_a_ball_come_back(self, grams, metres, amount):
        ball = PutUp(grams, metres)
        assert math.isclose(ball.grams_of(ball.metres_of(amount)), amount, rel_tol=1e-24)

    @given(st.integers(0, 10**6), st.integers(0, 10**4), amounts, amounts)
    def test_more_stitches_never_take_fewer_balls(self, stitches, more, grams, metres):
        ball = PutUp(grams, metres)
        one, other = (from_swatch(n, 1000, 10) for n in (stitches, stitches + more))
        assert one.low <= one.grams <= one.high
        assert balls_to_buy(one.high, ball) <= balls_to_buy(other.high, ball)

    @given(amounts, st.lists(amounts.filter(lambda m: m > 50), min_size=1, max_size=2))
    def test_a_mix_covers_the_need_and_no_ball_in_it_is_idle(self, need, lengths):
        put_ups = [PutUp(Decimal(50), metres) for metres in lengths]
        counts = mix_put_ups(need, put_ups)
        metres = sum(n * p.metres for n, p in zip(counts, put_ups, strict=True))
        assert metres >= need
        for count, put_up in zip(counts, put_ups, strict=True):
            assert not count or metres - put_up.metres < need

    @given(gauges, gauges, gauges, gauges)
    def test_scaling_there_and_back_changes_nothing(self, a, b, c, d):
        plan, own = Gauge(a, b), Gauge(c, d)
        there, back = same_stitches_factor(plan, own), same_stitches_factor(own, plan)
        assert math.isclose(there * back, 1)

    @given(st.lists(st.floats(1, 500), min_size=1, max_size=6))
    def test_an_estimate_lies_between_the_test_knits_it_rests_on(self, grams):
        estimate = from_test_knits(grams)
        assert min(grams) <= estimate.grams * (1 + 1e-9)
        assert estimate.grams <= max(grams) * (1 + 1e-9)


class TestForecast:
    """A forecast is an interval around its middle, and follows the scale."""

    @given(st.floats(1, 79), st.integers(1, 100), st.integers(0, 20))
    def test_less_left_at_the_same_point_is_never_less_of_a_worry(self, planned, left, less):
        assume(left - less >= 0)
        chances = []
        for grams in (left, left - less):
            weigh_in = WeighIn("A", planned, grams, 100)
            made = forecast(read_weigh_ins([weigh_in], {"A": 80}, {"A": 100}))["A"]
            assert 0 < made.low < made.need < made.high
            assert 0 <= made.chance_short <= 1
            chances.append(made.chance_short)
        assert chances[1] >= chances[0]


class TestPace:
    """Hours grow with stitches and shrink with speed."""

    @given(st.integers(0, 10**6), st.integers(0, 10**5), st.floats(1, 120))
    def test_more_stitches_take_no_less_time(self, stitches, more, per_minute):
        pace = timed_pace(per_minute, 1)
        one, other = hours_for(stitches, pace), hours_for(stitches + more, pace)
        assert one.low <= one.likely <= one.high
        assert one.likely <= other.likely
