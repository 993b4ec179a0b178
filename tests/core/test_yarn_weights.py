"""The yarn council's table, as published, and what falls outside its guidelines."""

from decimal import Decimal

import pytest

from kal.yarn_weights import YARN_WEIGHTS, guideline_warnings, yarn_weight_choices
from tests.reference import rows

PUBLISHED = rows("yarn_standards.csv")


def number(cell: str) -> Decimal | None:
    return Decimal(cell) if cell else None


@pytest.mark.parametrize("row", PUBLISHED, ids=lambda row: row["name"])
def test_matches_the_published_row(row):
    """Source: Craft Yarn Council's www.YarnStandards.com, Standard Yarn Weight System."""
    weight = YARN_WEIGHTS[int(row["category"])]
    assert weight.category == int(row["category"])
    assert weight.name == row["name"]
    assert weight.examples.lower() == row["yarn_types"].lower().replace(";", ",")
    assert weight.stitches_min == number(row["knit_gauge_min_sts_per_4in"])
    assert weight.stitches_max == number(row["knit_gauge_max_sts_per_4in"])
    assert weight.needle_mm_min == number(row["needle_mm_min"])
    assert weight.needle_mm_max == number(row["needle_mm_max"])


def test_has_the_eight_published_categories_and_no_more():
    assert [category for category, _ in yarn_weight_choices()] == list(range(8))
    assert len(PUBLISHED) == len(YARN_WEIGHTS)


@pytest.mark.parametrize("row", PUBLISHED, ids=lambda row: row["name"])
def test_nothing_is_unusual_at_the_ends_of_the_published_ranges(row):
    stitches = [row["knit_gauge_min_sts_per_4in"] or "1", row["knit_gauge_max_sts_per_4in"]]
    needles = [row["needle_mm_min"], row["needle_mm_max"] or "30"]
    for gauge, needle in zip(stitches, needles, strict=True):
        assert not guideline_warnings(
            int(row["category"]), stitches_to_10_cm=Decimal(gauge), needle_mm=Decimal(needle)
        )


@pytest.mark.parametrize(
    ("category", "stitches", "needle", "outside"),
    [
        (1, "21.5", "4.1", ["21.5 stitches to 10 cm", "4.1 mm"]),
        (1, "28", "2", ["2 mm"]),
        (1, "32.1", "3.25", ["32.1 stitches to 10 cm"]),
        (4, "18", "6.9", ["6.9 mm"]),
        (4, "18", "4.49", ["4.49 mm"]),
        (7, "6.1", "12.75", ["6.1 stitches to 10 cm"]),
        (7, "3", "12.74", ["12.74 mm"]),
    ],
)
def test_warns_of_what_is_outside(category, stitches, needle, outside):
    warnings = guideline_warnings(
        category, stitches_to_10_cm=Decimal(stitches), needle_mm=Decimal(needle)
    )
    assert [warning.partition(" is outside")[0] for warning in warnings] == outside
    assert all("guidelines only" in warning for warning in warnings)


@pytest.mark.parametrize(("stitches", "needle"), [("24", "3.5"), ("22", "4"), ("26.9", "3.25")])
def test_a_shawl_s_looseness_is_no_reason_to_warn(stitches, needle):
    """Common practice: fingering shawls at 22 to 26 stitches on 3.5 to 4 mm."""
    gauge = {"stitches_to_10_cm": Decimal(stitches), "needle_mm": Decimal(needle)}
    assert not guideline_warnings(1, **gauge)


def test_a_warning_names_the_range():
    (warning,) = guideline_warnings(7, stitches_to_10_cm=Decimal(8), needle_mm=Decimal(15))
    assert "the guideline for Jumbo yarn, up to 6 stitches to 10 cm / 4 in," in warning
