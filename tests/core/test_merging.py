"""Two edits of one clue put together, text by text.

Which texts are a question, and what comes out where none is, is held against `git merge-file`, a
three-way merge that others wrote (git's own manual: a conflict is where both sides changed the
same place and not to the same). Each text is one line there, with lines nobody changes between.
"""

import shutil
import subprocess
from dataclasses import fields, replace
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from schedule.drafts import Draft, MeetingDraft, PartDraft, SectionDraft, VideoDraft, WayDraft
from schedule.merging import merge, take

PLAIN = WayDraft("Row 1: knit.", "plain", "", "w1")
LACE = WayDraft("Row 1: yarn over.", "lace", "lace", "w2")
EDGE = SectionDraft("The edge", ways=(PLAIN, LACE), parts=(PartDraft(5),), key="s1")
WALL = SectionDraft("The wall", ways=(WayDraft("Knit on.", key="w3"),), key="s2")
BASE = Draft(
    title="Harbour",
    title_is_secret=True,
    body="Cast on 5.",
    uses={"A": Decimal(12), "B": Decimal(8)},
    use_notes={"A": "48 m"},
    attachments=frozenset({1, 2}),
    descriptions={1: "The wall at low tide"},
    sections=(EDGE, WALL),
    meetings=(MeetingDraft("A", "B"),),
    videos=(VideoDraft("Grafting", "https://films.example/1"),),
    techniques="grafting",
)


def way(body: str, of: WayDraft = PLAIN) -> WayDraft:
    return replace(of, body=body)


def edge(**fields) -> Draft:
    return replace(BASE, sections=(replace(EDGE, **fields), WALL))


# One row: what one of two changes, and the place it is in.
EDITS = {
    ("title",): replace(BASE, title="Pier"),
    ("body",): replace(BASE, body="Cast on 7."),
    ("techniques",): replace(BASE, techniques="lace"),
    ("meeting", "AB"): replace(BASE, meetings=()),
    ("meeting", "AC"): replace(BASE, meetings=(MeetingDraft("A", "B"), MeetingDraft("A", "C"))),
    ("videos",): replace(BASE, videos=()),
    ("use", "A"): replace(BASE, use_notes={"A": "50 m"}),
    ("use", "B"): replace(BASE, uses={"A": Decimal(12)}),
    ("file", "1"): replace(BASE, descriptions={1: "The wall at high tide"}),
    ("file", "2"): replace(BASE, attachments=frozenset({1})),
    ("heading", "s1"): edge(title="The border", promises_choice=True),
    ("counts", "s1"): edge(parts=(PartDraft(7),)),
    ("way", "s1", "w1"): edge(ways=(way("Row 1: purl."), LACE)),
    ("way", "s1", "w2"): edge(ways=(PLAIN,)),
    ("order", "s1"): edge(ways=(LACE, PLAIN)),
    ("order",): replace(BASE, sections=(WALL, EDGE)),
}


@pytest.mark.parametrize("place", EDITS)
def test_what_one_of_them_changed_is_taken_as_it_is(place):
    edited = EDITS[place]
    assert edited != BASE
    assert merge(BASE, BASE, edited).draft == edited
    theirs = merge(BASE, edited, BASE)
    assert (theirs.draft, theirs.questions, theirs.taken) == (edited, (), (place,))


@pytest.mark.parametrize("place", EDITS)
def test_the_same_change_by_both_is_no_question(place):
    both = merge(BASE, EDITS[place], EDITS[place])
    assert (both.draft, both.questions, both.taken) == (EDITS[place], (), ())


@pytest.mark.parametrize("first", EDITS)
@pytest.mark.parametrize("second", EDITS)
def test_changes_in_two_places_stand_together_whoever_made_which(first, second):
    if first == second:
        return
    one = merge(BASE, EDITS[first], EDITS[second])
    other = merge(BASE, EDITS[second], EDITS[first])
    assert one.questions == other.questions == ()
    assert one.draft == other.draft
    assert merge(BASE, one.draft, EDITS[first]).questions == ()


CONTRADICTIONS = {
    ("title",): replace(BASE, title="Quay"),
    ("body",): replace(BASE, body="Cast on 9."),
    ("meeting", "AB"): replace(BASE, meetings=(MeetingDraft("A", "B", needs="strong"),)),
    ("use", "A"): replace(BASE, uses={**BASE.uses, "A": Decimal(13)}),
    ("use", "B"): replace(BASE, uses={**BASE.uses, "B": Decimal(9)}),
    ("file", "1"): replace(BASE, attachments=frozenset({2}), descriptions={}),
    ("heading", "s1"): edge(promises_choice=True),
    ("counts", "s1"): edge(parts=()),
    ("way", "s1", "w1"): edge(ways=(LACE,)),
    ("way", "s1", "w2"): edge(ways=(PLAIN, way("Row 1: knit two together.", LACE))),
}


@pytest.mark.parametrize("place", CONTRADICTIONS)
def test_what_both_changed_is_a_question_and_stays_mine_until_it_is_answered(place):
    theirs, mine = EDITS[place], CONTRADICTIONS[place]
    merged = merge(BASE, theirs, mine)
    assert merged.questions == (place,)
    assert merged.draft == mine
    assert take(merged.draft, theirs, merged.questions) == theirs


def test_a_section_taken_out_by_one_and_changed_by_the_other_is_one_question():
    gone, changed = replace(BASE, sections=(WALL,)), edge(title="The border")
    for theirs, mine in ((gone, changed), (changed, gone)):
        merged = merge(BASE, theirs, mine)
        assert merged.questions == (("section", "s1"),)
        assert merged.draft == mine
        assert take(merged.draft, theirs, merged.questions) == theirs
    assert merge(BASE, gone, BASE).draft == gone


def test_sections_that_each_adds_are_both_there_after_their_neighbours():
    hers, his = SectionDraft("Hers", key="h"), SectionDraft("His", key="i")
    merged = merge(
        BASE,
        replace(BASE, sections=(EDGE, hers, WALL)),
        replace(BASE, sections=(EDGE, WALL, his)),
    )
    assert [section.key for section in merged.draft.sections] == ["s1", "h", "s2", "i"]
    assert merged.questions == ()


def test_two_letters_that_meet_in_several_ways_are_one_place():
    stripes, strand = MeetingDraft("A", "B", "stripes"), MeetingDraft("A", "B", "stranded")
    theirs, mine = (replace(BASE, meetings=(*BASE.meetings, one)) for one in (stripes, strand))
    merged = merge(BASE, theirs, mine)
    assert merged.questions == (("meeting", "AB"),)
    assert take(merged.draft, theirs, merged.questions) == theirs


def test_an_added_section_and_another_order_are_both_kept():
    new = SectionDraft("New", key="n")
    merged = merge(
        BASE, replace(BASE, sections=(WALL, EDGE)), replace(BASE, sections=(EDGE, WALL, new))
    )
    assert [section.key for section in merged.draft.sections] == ["s2", "n", "s1"]
    assert merged.taken == (("order",),)


def test_where_the_beginning_is_not_known_all_that_differs_is_asked():
    theirs, mine = replace(EDITS["title",], techniques="lace"), EDITS["body",]
    merged = merge(None, theirs, mine)
    assert set(merged.questions) == {("title",), ("body",), ("techniques",)}
    assert merged.draft == mine
    assert take(merged.draft, theirs, merged.questions) == theirs


def test_whether_a_title_is_secret_has_no_history_and_is_asked():
    told = replace(BASE, title_is_secret=False)
    assert merge(BASE, told, BASE).questions == (("title_is_secret",),)


def test_a_question_left_open_is_asked_again_though_only_one_side_differs_by_now():
    mine = EDITS["body",]
    assert merge(BASE, BASE, mine).questions == ()
    assert merge(BASE, BASE, mine, still_open=[("body",)]).questions == (("body",),)


@pytest.mark.parametrize("place", [("way", "zz", "q"), ("file", "x"), ("foo",), ("section", "s1")])
def test_a_place_that_is_none_takes_nothing_and_loses_nothing(place):
    assert take(BASE, EDITS["body",], [place]) == BASE


TEXTS = ("title", "body", "techniques")
edits = st.fixed_dictionaries({}, optional={name: st.sampled_from(["x", "y"]) for name in TEXTS})


def git_merge(folder, base: Draft, theirs: Draft, mine: Draft) -> tuple[int, list[str]]:
    """Return how many conflicts git finds, and the three texts where it finds none."""
    for name, draft in (("base", base), ("theirs", theirs), ("mine", mine)):
        between = {text: [f"-{text} {n}" for n in range(9)] for text in TEXTS}
        lines = [line for text in TEXTS for line in (getattr(draft, text), *between[text])]
        (folder / name).write_text("\n".join(lines) + "\n")
    command = ["git", "merge-file", "-p", "mine", "base", "theirs"]
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
    return done.returncode, [line for line in done.stdout.splitlines() if line[:1] != "-"]


@pytest.mark.skipif(shutil.which("git") is None, reason="git is not installed")
@settings(max_examples=60, deadline=None)
@given(hers=edits, his=edits)
def test_questions_and_outcome_are_those_of_git(tmp_path_factory, hers, his):
    folder = tmp_path_factory.getbasetemp()
    theirs, mine = replace(BASE, **hers), replace(BASE, **his)
    conflicts, lines = git_merge(folder, BASE, theirs, mine)
    merged = merge(BASE, theirs, mine)
    assert len(merged.questions) == conflicts
    if not conflicts:
        assert [getattr(merged.draft, text) for text in TEXTS] == lines


def test_no_field_of_a_clue_is_forgotten():
    """A field that is not merged would be taken from one edit without a word."""
    told = replace(BASE, title_is_secret=False)
    for field in fields(Draft):
        edited = [edit for edit in [told, *EDITS.values()] if is_changed(field.name, BASE, edit)]
        assert edited or field.name == "note", field.name
    for field in fields(SectionDraft):
        edited = [edit for edit in EDITS.values() if is_changed(field.name, EDGE, edit.sections[0])]
        assert edited, field.name


def is_changed(name: str, before: object, after: object) -> bool:
    return bool(getattr(before, name) != getattr(after, name))
