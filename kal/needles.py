"""The number printed beside the millimetres on a needle sold in the United States.

Source: the sizes on which at least four of five published conversion tables agree, listed in
fixtures/reference/us_needle_sizes.csv. No standard fixes them, so they serve as labels only.
"""

from decimal import Decimal

US_NEEDLE_SIZES = {
    Decimal(mm): us
    for mm, us in (
        *(
            ("2", "0"),
            ("2.25", "1"),
            ("2.75", "2"),
            ("3", "2.5"),
            ("3.25", "3"),
            ("3.5", "4"),
            ("3.75", "5"),
        ),
        *(("4", "6"), ("4.5", "7"), ("5", "8"), ("5.5", "9"), ("6", "10"), ("6.5", "10.5")),
        *(("8", "11"), ("9", "13"), ("10", "15"), ("15", "19"), ("25", "50")),
    )
}


def us_needle(mm: Decimal) -> str:
    """Return the US size of a needle of `mm` millimetres, or '' where the tables have none."""
    return US_NEEDLE_SIZES.get(mm, "")
