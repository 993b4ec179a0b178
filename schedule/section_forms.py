"""The sections of a clue's form with their ways and rows, and all lists of the form together."""

import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext_lazy as _

from schedule.clue_rows import KeyField, RowForm, RowList, list_of
from schedule.drafts import SectionDraft, WayDraft
from schedule.meeting_forms import MeetingRows, VideoRows
from schedule.models.section import new_key
from schedule.part_forms import PartRows

MOST_SECTIONS, MOST_WAYS = 10, 4  # our choice: what one clue still holds in a form


class WayForm(RowForm):
    asks = ("name", "technique", "body")

    key = KeyField()
    name = forms.CharField(
        label=_("Name of this way"),
        required=False,
        max_length=60,
        help_text=_("Like “the plain way”."),
    )
    technique = forms.CharField(
        label=_("Technique"), required=False, max_length=80, help_text=_("Like “grafting”.")
    )
    body = forms.CharField(
        label=_("Text of this way"),
        required=False,
        max_length=50_000,
        strip=False,
        widget=forms.Textarea(attrs={"rows": 8, "spellcheck": "true"}),
    )

    def clean_body(self) -> str:
        return str(self.cleaned_data["body"]).replace("\r\n", "\n").rstrip()

    def draft(self) -> WayDraft:
        cleaned = self.cleaned_data
        return WayDraft(cleaned["body"], cleaned["name"], cleaned["technique"], cleaned["key"])


WayRows = list_of(WayForm, MOST_WAYS)


class SectionForm(RowForm):
    asks = ("title",)

    key = KeyField()
    title = forms.CharField(label=_("Title of the section"), required=False, max_length=120)
    promises_choice = forms.BooleanField(
        label=_("The clue promises an easier way here"),
        required=False,
        help_text=_("Then it cannot be marked ready with one way only."),
    )

    def __init__(self, *args: Any, letters: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.ways = self._list(WayRows, "ways")
        self.parts = self._list(PartRows, "parts", letters=letters)

    def _list(self, kind: type[RowList], name: str, **options: str) -> RowList:
        return kind(
            self.data if self.is_bound else None,
            prefix=f"{self.prefix}-{name}",
            initial=None if self.is_bound else self.initial.get(name, []),
            form_kwargs=options,
        )

    def is_valid(self) -> bool:
        return super().is_valid() and self.ways.is_valid() and self.parts.is_valid()

    @property
    def is_blank(self) -> bool:
        return super().is_blank and not self.ways.kept and not self.parts.kept

    def draft(self) -> SectionDraft:
        cleaned = self.cleaned_data
        return SectionDraft(
            title=cleaned.get("title", ""),
            promises_choice=cleaned.get("promises_choice", False),
            ways=self.ways.drafts(),
            parts=self.parts.drafts(),
            key=cleaned.get("key") or new_key(),
        )


SectionRows = list_of(SectionForm, MOST_SECTIONS, can_order=True)

TOP_LISTS = {"sections": SectionRows, "meetings": MeetingRows, "videos": VideoRows}
GROWING = re.compile(r"(sections|meetings|videos|sections-\d{1,2}-(?:ways|parts))")


def row_lists(
    data: Mapping[str, Any] | None, initial: Mapping[str, Sequence[dict[str, Any]]], letters: str
) -> dict[str, RowList]:
    """Return the lists of a clue's form, bound to `data` or showing `initial`."""
    return {
        name: kind(
            data,
            prefix=name,
            initial=None if data is not None else initial.get(name, []),
            form_kwargs={} if name == "videos" else {"letters": letters},
        )
        for name, kind in TOP_LISTS.items()
    }


def with_one_more(data: QueryDict, wanted: str) -> QueryDict:
    """Return a copy of what was sent with one more row in the list `wanted`, named by its prefix.

    A new section starts with one way.
    """
    grown = data.copy()
    if not GROWING.fullmatch(wanted):
        return grown
    total = _length(data, wanted)
    grown[f"{wanted}-TOTAL_FORMS"] = str(total + 1)
    if wanted == "sections":
        for name, length in (("ways", "1"), ("parts", "0")):
            grown[f"sections-{total}-{name}-TOTAL_FORMS"] = length
            grown[f"sections-{total}-{name}-INITIAL_FORMS"] = "0"
    return grown


def begin_at_last(rows: Mapping[str, RowList], wanted: str) -> None:
    """Have the browser begin in the last row of the list `wanted`, not at the top of its page."""
    if not GROWING.fullmatch(wanted):
        return
    grown = rows.get(wanted)
    if grown is None:
        _sections, number, name = wanted.split("-")
        if int(number) >= len(rows["sections"].forms):
            return
        grown = getattr(rows["sections"].forms[int(number)], name)
    if grown.forms:
        last = grown.forms[-1]
        last.fields[last.visible_fields()[0].name].widget.attrs["autofocus"] = True


def _length(data: QueryDict, prefix: str) -> int:
    typed = data.get(f"{prefix}-TOTAL_FORMS", "0")
    return int(typed) if re.fullmatch(r"\d{1,3}", typed) else 0


def section_initial(sections: Iterable[SectionDraft]) -> list[dict[str, Any]]:
    """Return what the list of sections starts from."""
    return [
        {
            "key": section.key,
            "title": section.title,
            "promises_choice": section.promises_choice,
            "ways": [vars(way) for way in section.ways],
            "parts": [
                vars(part) | {"numbers": part.worked or part.changes} for part in section.parts
            ],
        }
        for section in sections
    ]
