"""US needle numbers: only where published conversion tables agree."""

from decimal import Decimal

from kal.needles import US_NEEDLE_SIZES, us_needle
from tests.reference import rows

MOST_TABLES = 4  # of the five that were compared


def test_holds_exactly_the_sizes_that_the_tables_agree_on():
    """Source: five public conversion tables; no standard was found."""
    agreed = {
        Decimal(row["mm"]): row["us_size"]
        for row in rows("us_needle_sizes.csv")
        if int(row["tables_agreeing"] or 0) >= MOST_TABLES
    }
    assert agreed == US_NEEDLE_SIZES


def test_a_size_without_a_number_has_no_label():
    assert us_needle(Decimal("3.50")) == "4"
    assert us_needle(Decimal("3.6")) == ""
