"""Whatever is asked together, the gallery finds whom a plain reading of each facet finds."""

import random

import pytest

from palettes.colour.contrast import GRADES
from palettes.colour.facets import DYE_STYLES, bits, fold, starts_of
from palettes.colour.families import FAMILIES
from palettes.colour.fibre import KINDS
from palettes.colour.wording import SCHEMES
from palettes.gallery import read_page
from palettes.models import GalleryEntry
from palettes.models.registration import Run
from palettes.wanted import REACH_BOUNDS, Wanted
from tests.web.test_gallery import register

PALETTES = 60
NAMES = ["Gull", "Gulls", "Slate", "Élan", "4ply", "Moor", "Wool", "Gorse"]
FAMILY_NAMES = [family.value for family in FAMILIES]
GRADE_NAMES = [grade.value for grade in GRADES]


def change(entry, dice):
    """Give an entry facets by chance, and return what was chosen in words."""
    held = {
        share: set(dice.sample(FAMILY_NAMES, dice.randint(0, 6)))
        for share in ("some", "half", "all")
    }
    fibres = set(dice.sample(KINDS, dice.randint(0, 3)))
    dyes = set(dice.sample(DYE_STYLES, dice.randint(0, 3)))
    entry.run = dice.choice(Run.values)
    entry.scheme = dice.choice([scheme.value for scheme in SCHEMES])
    entry.worst_grade, entry.mean_grade = dice.randrange(4), dice.randrange(4)
    entry.darkest = dice.uniform(0, 60)
    entry.lightest = dice.uniform(entry.darkest, 100)
    for share, families in held.items():
        setattr(entry, f"families_{share}", bits(families, FAMILIES))
    entry.fibres, entry.dye_styles = bits(fibres, KINDS), bits(dyes, DYE_STYLES)
    entry.words = fold(dice.sample(NAMES, dice.randint(0, 5)))
    entry.starts = starts_of(entry.words)
    entry.save()
    return held, fibres, dyes


def ask(dice):
    """Return a question of up to four parts, as likely of facets as of words."""
    parts = {
        "family": lambda: tuple(dice.sample(FAMILY_NAMES, dice.randint(1, 3))),
        "run": lambda: dice.choice(Run.values),
        "darkest": lambda: dice.randint(0, 60),
        "lightest": lambda: dice.randint(40, 100),
        "reach": lambda: dice.choice(list(REACH_BOUNDS)),
        "worst": lambda: dice.choice(GRADE_NAMES[:3]),
        "mean": lambda: dice.choice(GRADE_NAMES[:3]),
        "scheme": lambda: dice.choice([scheme.value for scheme in SCHEMES]),
        "fibre": lambda: dice.choice(KINDS),
        "dye": lambda: tuple(dice.sample(DYE_STYLES, 2)),
        "words": lambda: dice.choice(
            ["g", "gul", "gulls", "el", "wx", "gull sl", "g s w", "wool4"]
        ),
    }
    chosen = dice.sample(list(parts), dice.choice([1, 1, 2, 2, 3, 4]))
    return Wanted(
        match=dice.choice(["", "all"]),
        share=dice.choice(["", "half", "all"]),
        **{name: parts[name]() for name in chosen},
    )


def is_like(entry, facts, wanted):
    held, fibres, dyes = facts
    families = held[wanted.share or "some"]
    least, below = REACH_BOUNDS[wanted.reach or "narrow"]
    starts = wanted.words.split()
    return all(
        (
            not wanted.family
            or (set(wanted.family) <= families if wanted.match else set(wanted.family) & families),
            not wanted.run or entry.run == wanted.run,
            wanted.darkest is None or entry.darkest >= wanted.darkest,
            wanted.lightest is None or entry.lightest <= wanted.lightest,
            not wanted.reach or least <= entry.lightest - entry.darkest < below,
            not wanted.worst or entry.worst_grade <= GRADE_NAMES.index(wanted.worst),
            not wanted.mean or entry.mean_grade <= GRADE_NAMES.index(wanted.mean),
            not wanted.scheme or entry.scheme == wanted.scheme,
            not wanted.fibre or wanted.fibre in fibres,
            not wanted.dye or set(wanted.dye) & dyes,
            all(any(word.startswith(start) for word in entry.words.split()) for start in starts),
        )
    )


@pytest.fixture
def crowd(knit_along):
    """Entries newest first, with what was chosen for each."""
    first = register(knit_along).gallery_entry
    dice = random.Random(1)
    entries = [first, *(register(knit_along).gallery_entry for _ in range(PALETTES - 1))]
    return [(entry, change(entry, dice)) for entry in entries][::-1]


def walk(knit_along, wanted):
    """Return the registrations on every page, older and older, and those on the way back."""
    there, back = [], []
    page = read_page(knit_along, wanted)
    while page.older:
        there.append([entry.registration_id for entry in page.entries])
        page = read_page(knit_along, wanted, cursor=page.older)
    there.append([entry.registration_id for entry in page.entries])
    while page.newer:
        page = read_page(knit_along, wanted, cursor=page.newer)
        back.append([entry.registration_id for entry in page.entries])
    return there, back[::-1]


def test_whatever_is_asked(knit_along, crowd, monkeypatch):
    monkeypatch.setattr("palettes.gallery.PAGE_SIZE", 7)
    dice, found = random.Random(2), 0
    for wanted in [Wanted(), *(ask(dice) for _ in range(80))]:
        expected = [
            entry.registration_id for entry, facts in crowd if is_like(entry, facts, wanted)
        ]
        # Counted to the end, to the middle and hardly beyond a page, pages are found differently.
        for counted in (1000, 20, 8):
            monkeypatch.setattr("palettes.gallery.COUNTED", counted)
            there, back = walk(knit_along, wanted)
            assert [key for page in there for key in page] == expected, wanted
            assert back == there[:-1], wanted
            assert read_page(knit_along, wanted).found == min(len(expected), counted + 1)
        found += len(expected)
    assert found > 3 * PALETTES  # the questions are not all of the kind that nobody answers


@pytest.mark.parametrize("words", [" gull slate", " elan", " 4ply", "", " x"])
def test_a_palette_has_the_bits_of_whatever_its_words_begin_with(words):
    held = starts_of(words)
    for word in words.split():
        for length in range(1, len(word) + 1):
            asked = starts_of(f" {word[:length]}")
            assert held & asked == asked
    assert 0 <= held < 2**63


def test_words_of_a_palette_registered_are_ruled_in(knit_along):
    entry = register(knit_along).gallery_entry
    assert entry.starts == starts_of(entry.words) != 0
    assert GalleryEntry.objects.filter(knit_along=knit_along).with_words("a" * 9).count() == 0
