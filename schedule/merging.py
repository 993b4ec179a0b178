"""Two edits of one clue put together, text by text, against the content that both began from.

What only one of the two changed is taken as it is. What both changed, each to something else, is
a question, and so is all that differs where the beginning is not known. Drafts in, drafts out.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from itertools import groupby
from typing import Any

from schedule.drafts import Draft, MeetingDraft, SectionDraft

type Place = tuple[str, ...]
"""Where in a clue a text stands: ("body",), ("use", letter), ("way", section, way) …"""

ORDER, SECRECY = "order", "title_is_secret"
PLAIN = ("title", SECRECY, "body", "techniques", "videos")


@dataclass(frozen=True)
class Merged:
    """Both edits in one; in the places that are questions the draft holds `mine`."""

    draft: Draft
    questions: tuple[Place, ...]
    taken: tuple[Place, ...]
    """Places that only the other changed, and which the draft has from them."""


def merge(
    base: Draft | None, theirs: Draft, mine: Draft, *, still_open: Collection[Place] = ()
) -> Merged:
    """Return the two edits put together; `base` is None where the beginning is not known.

    Places in `still_open` were asked about before and not answered, so they are asked again.
    """
    shared = sections_in(theirs) & sections_in(mine)
    old = pieces_of(base, shared) if base else {}
    ours, others = pieces_of(mine, shared), pieces_of(theirs, shared)
    values, questions, taken = dict(ours), list[Place](), list[Place]()
    for place in _all_places(ours, others):
        was, their, my = old.get(place), others.get(place), ours.get(place)
        if place[0] == ORDER:
            was, their, my = (_in_common(keys, their or (), my or ()) for keys in (was, their, my))
        if their == my:
            continue
        is_known = base is not None and place[0] != SECRECY and place not in still_open
        if is_known and was == my:
            values[place] = others.get(place)
            taken.append(place)
        elif not is_known or was != their:
            questions.append(place)
    return Merged(_put_together(mine, values, ours, others), tuple(questions), tuple(taken))


def take(draft: Draft, theirs: Draft, places: Iterable[Place]) -> Draft:
    """Return the draft with what `theirs` holds in the places."""
    shared = sections_in(draft) & sections_in(theirs)
    ours, others = pieces_of(draft, shared), pieces_of(theirs, shared)
    chosen = {place: others.get(place) for place in places}
    return _put_together(draft, ours | chosen, ours, others)


def pieces_of(draft: Draft, shared: Collection[str]) -> dict[Place, Any]:
    """Return the draft's texts by place; a section that is not `shared` is one piece, whole."""
    pieces: dict[Place, Any] = {(name,): getattr(draft, name) for name in PLAIN}
    for letter, grams in draft.uses.items():
        pieces["use", letter] = grams, draft.use_notes.get(letter, "")
    for pair, meetings in groupby(sorted(draft.meetings, key=_pair), key=_pair):
        pieces["meeting", pair] = tuple(meetings)
    for pk in draft.attachments:
        pieces["file", str(pk)] = draft.descriptions.get(pk, "")
    pieces[ORDER,] = tuple(section.key for section in draft.sections)
    for section in draft.sections:
        if section.key in shared:
            pieces |= _pieces_of_section(section)
        else:
            pieces["section", section.key] = section
    return pieces


def _pair(meeting: MeetingDraft) -> str:
    return meeting.first + meeting.second


def _pieces_of_section(section: SectionDraft) -> dict[Place, Any]:
    key = section.key
    return {
        ("heading", key): (section.title, section.promises_choice),
        ("counts", key): section.parts,
        (ORDER, key): tuple(way.key for way in section.ways),
        **{("way", key, way.key): way for way in section.ways},
    }


def sections_in(draft: Draft) -> set[str]:
    """Return the keys of the sections."""
    return {section.key for section in draft.sections}


def _all_places(first: Mapping[Place, Any], second: Mapping[Place, Any]) -> list[Place]:
    return [*first, *(place for place in second if place not in first)]


def _in_common(keys: Sequence[str] | None, *others: Sequence[str]) -> tuple[str, ...]:
    """Return the keys that all have: what was added or taken out is no other order."""
    return tuple(key for key in keys or () if all(key in other for other in others))


def _put_together(
    draft: Draft,
    values: Mapping[Place, Any],
    ours: Mapping[Place, Any],
    others: Mapping[Place, Any],
) -> Draft:
    """Return the draft with the values; keys that only one of the edits has find their place."""

    def ordered(*place: str) -> list[str]:
        chosen, my, their = (kept.get((ORDER, *place)) or () for kept in (values, ours, others))
        return _woven(_woven(chosen, my), their)

    there = {place: value for place, value in values.items() if value is not None}
    uses: dict[str, tuple[Decimal, str]] = {p[1]: v for p, v in there.items() if p[0] == "use"}
    pairs = sorted(place for place in there if place[0] == "meeting")
    files = {int(place[1]): words for place, words in there.items() if place[0] == "file"}
    sections = (
        there.get(("section", key)) or _section(key, there, ordered(key)) for key in ordered()
    )
    return replace(
        draft,
        **{name: values[name,] for name in PLAIN},
        uses={letter: grams for letter, (grams, _note) in uses.items()},
        meetings=tuple(meeting for pair in pairs for meeting in there[pair]),
        use_notes={letter: note for letter, (_grams, note) in uses.items() if note},
        attachments=frozenset(files),
        descriptions={pk: words for pk, words in files.items() if words},
        sections=tuple(section for section in sections if section),
    )


def _section(key: str, there: Mapping[Place, Any], ways: Iterable[str]) -> SectionDraft | None:
    if ("heading", key) not in there:
        return None
    title, promises_choice = there["heading", key]
    return SectionDraft(
        title=title,
        promises_choice=promises_choice,
        ways=tuple(there["way", key, way] for way in ways if ("way", key, way) in there),
        parts=there["counts", key],
        key=key,
    )


def _woven(keys: Sequence[str], others: Sequence[str]) -> list[str]:
    """Return the keys in their order, and those that only the others have after their neighbour."""
    woven = list(keys)
    for place, key in enumerate(others):
        if key not in woven:
            before = others[place - 1] if place else None
            woven.insert(woven.index(before) + 1 if before else 0, key)
    return woven
