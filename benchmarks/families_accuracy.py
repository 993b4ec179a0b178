"""Measure the colour families: accuracy, confusion, stability, and where the table came from.

    python -m benchmarks.families_accuracy             everything, about a minute
    python -m benchmarks.families_accuracy --derive    the table that the named colours give

The shipped table was fitted to all rows of both lists, so its own figures flatter it. Figures for
rows never seen come from fitting anew without them: in repeated five-fold cross-validation, and on
one whole list to be tried on the other.
"""

import argparse
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from benchmarks.families_fit import derive, rounded
from benchmarks.family_names import STANDARD, SURVEY, NamedColours, read_names
from palettes.colour.families import FAMILIES, name_families, name_two_families, surroundings
from palettes.colour.family_table import TABLE, FamilyTable
from palettes.colour.spaces import Floats, srgb_to_lab

FOLDS = 5
REPEATS = 10
SEED = 2010
GRID_LEVELS = 33
WIDTHS = (1.0, 2.0, 3.0, 4.0, 5.0, 6.0)

Numbers = NDArray[np.intp]


def main() -> None:
    parser = argparse.ArgumentParser(description="Measure the colour families.")
    parser.add_argument("--derive", action="store_true", help="print the fitted table and stop")
    options = parser.parse_args()
    survey, standard = read_names(SURVEY), read_names(STANDARD)
    if options.derive:
        print_derived(survey, standard)
        return
    print_accuracy(survey, standard)
    print_confusion(survey, standard)
    print_stability(survey, standard)
    print_border_widths(survey, standard)


def print_derived(survey: NamedColours, standard: NamedColours) -> None:
    table = rounded(derive(survey, standard))
    for title, part in (("hue", table.hue), ("lightness", table.lightness)):
        print(f"{title} borders\n{part.astype(int)}")
    print(f"neutral limits\n{table.neutral.astype(int)}")
    parts = ((table.hue, TABLE.hue), (table.lightness, TABLE.lightness))
    same = all(np.array_equal(new, old) for new, old in (*parts, (table.neutral, TABLE.neutral)))
    print("This is the shipped table." if same else "The shipped table differs.")


def print_accuracy(survey: NamedColours, standard: NamedColours) -> None:
    print("Accuracy, per cent        survey strict   survey any word   ISCC-NBS")
    shipped = [agreement(part, name_families(part.labs)) for part in (survey, standard)]
    _print_scores("shipped table", shipped[0], shipped[1][0])
    scores = np.array(list(cross_validate(survey, standard)))
    _print_scores(f"unseen, {REPEATS} x {FOLDS} folds", *_survey_and_standard(scores.mean(axis=0)))
    _print_scores("  worst of the repeats", *_survey_and_standard(scores.min(axis=0)))
    nothing = np.zeros(0, dtype=np.intp)
    from_survey = rounded(derive(survey, choose(standard, nothing)))
    from_standard = rounded(derive(choose(survey, nothing), standard))
    across = agreement(survey, name_families(survey.labs, from_standard))
    back = agreement(standard, name_families(standard.labs, from_survey))
    _print_scores("fitted to the other list", across, back[0])


def _survey_and_standard(scores: Floats) -> tuple[tuple[float, float], float]:
    return (float(scores[0]), float(scores[1])), float(scores[2])


def _print_scores(title: str, survey: tuple[float, float], standard: float) -> None:
    strict, any_word = survey
    print(f"{title:<26}{strict:>13.1%}{any_word:>18.1%}{standard:>11.1%}")


def agreement(named: NamedColours, given: Numbers) -> tuple[float, float]:
    """Return the shares given the head's family, and any family the name mentions."""
    mentioned = named.mentioned[np.arange(len(given)), given]
    return float(np.mean(given == named.families)), float(np.mean(mentioned))


def cross_validate(
    survey: NamedColours, standard: NamedColours
) -> Iterator[tuple[float, float, float]]:
    """Yield survey strict, survey any word and standard agreement, once for each repeat."""
    for repeat in range(REPEATS):
        rng = np.random.default_rng(SEED + repeat)
        orders = [rng.permutation(len(part.names)) for part in (survey, standard)]
        given = [np.zeros(len(order), dtype=np.intp) for order in orders]
        for fold in range(FOLDS):
            table = _fit_without(fold, orders, survey, standard)
            for part, order, names in zip((survey, standard), orders, given, strict=True):
                held = order[fold::FOLDS]
                names[held] = name_families(part.labs[held], table)
        yield (*agreement(survey, given[0]), agreement(standard, given[1])[0])


def _fit_without(
    fold: int, orders: list[Numbers], survey: NamedColours, standard: NamedColours
) -> FamilyTable:
    kept = [np.sort(np.delete(order, slice(fold, None, FOLDS))) for order in orders]
    return rounded(derive(choose(survey, kept[0]), choose(standard, kept[1])))


def choose(named: NamedColours, rows: Numbers) -> NamedColours:
    """Return only these rows of a list."""
    names = tuple(named.names[row] for row in rows)
    return NamedColours(names, named.labs[rows], named.families[rows], named.mentioned[rows])


def print_confusion(survey: NamedColours, standard: NamedColours) -> None:
    for title, named in (("survey", survey), ("ISCC-NBS", standard)):
        print(f"\nConfusion, {title}: rows are the names, columns what the table says")
        counts = np.zeros((len(FAMILIES), len(FAMILIES)), dtype=int)
        np.add.at(counts, (named.families, name_families(named.labs)), 1)
        print(" " * 9 + "".join(f"{family[:6]:>8}" for family in FAMILIES))
        for family, row in zip(FAMILIES, counts, strict=True):
            print(f"{family:<9}" + "".join(f"{count or '.':>8}" for count in row))


def print_stability(survey: NamedColours, standard: NamedColours) -> None:
    print(
        "\nStability: how often a move of 1 CIEDE2000, in any of 26 directions, changes the family"
    )
    levels = np.linspace(0, 1, GRID_LEVELS)
    grid = np.array(np.meshgrid(levels, levels, levels)).reshape(3, -1).T
    parts = (("survey", survey.labs), ("ISCC-NBS", standard.labs), ("sRGB grid", srgb_to_lab(grid)))
    for title, labs in parts:
        changed = name_families(surroundings(labs, 1.0)) != name_families(labs)[:, np.newaxis]
        print(
            f"{title:<10} {changed.mean():6.1%} of moves; "
            f"{changed.any(axis=1).mean():.1%} of {len(labs):,} colours by at least one of them"
        )


def print_border_widths(survey: NamedColours, standard: NamedColours) -> None:
    print("\nBorder width: share with two families, and share with the name's family among them")
    for width in WIDTHS:
        shares = []
        for named in (survey, standard):
            first, second = name_two_families(named.labs, width)
            among = (first == named.families) | (second == named.families)
            shares.append(f"{np.mean(second >= 0):6.1%} {among.mean():6.1%}")
        print(f"{width:>4.0f}   survey {shares[0]}   ISCC-NBS {shares[1]}")


if __name__ == "__main__":
    main()
