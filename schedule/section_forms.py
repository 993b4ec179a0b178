"""The rows of a clue's form: sections with their ways and counted parts, meetings and videos.

Each list says its own length in a hidden field, and a button asks for one more row, so it grows
without script. A row left empty is no row.
"""

import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, cast

from django import forms
from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.forms.formsets import BaseFormSet, formset_factory
from django.http import QueryDict
from django.utils.translation import gettext_lazy as _

from schedule.drafts import MeetingDraft, PartDraft, SectionDraft, VideoDraft, WayDraft
from schedule.models import CountedPart, Meeting
from schedule.models.section import MAX_ROWS, new_key

# Our choice: what one clue still holds in a form that a person finds their way in.
MOST_SECTIONS, MOST_WAYS, MOST_PARTS, MOST_MEETINGS, MOST_VIDEOS = 10, 4, 6, 20, 8
MOST_STITCHES = 100_000  # our choice: a hundred times a large blanket's row
LETTERS_HINT = _("Colour letters row by row, coming round in turn, like AAB.")


class KeyField(forms.CharField):
    """The hidden name of a section or way; a new one for a row that has none yet."""

    def __init__(self) -> None:
        super().__init__(required=False, max_length=12, widget=forms.HiddenInput)

    def clean(self, value: Any) -> str:
        key = str(super().clean(value))
        return key if re.fullmatch(r"[0-9a-z]{1,12}", key) else new_key()


class RowForm(forms.Form):
    """One row of a list; `asks` names the fields of which a row that counts fills one."""

    asks: tuple[str, ...] = ()

    @property
    def is_blank(self) -> bool:
        return not any(self.cleaned_data.get(name) not in (None, "") for name in self.asks)

    @property
    def is_new(self) -> bool:
        """Whether the row is empty as it stands, stored or typed."""
        return not any(self[name].value() for name in self.asks)


class NumbersField(forms.CharField):
    """Whole numbers with commas or spaces between them, as a tuple."""

    def __init__(self, *, most: int, **kwargs: Any) -> None:
        super().__init__(required=False, max_length=2_000, **kwargs)
        self.most = most

    def clean(self, value: Any) -> Any:
        words = str(super().clean(value)).replace(",", " ").replace("\N{MINUS SIGN}", "-").split()
        for word in words:
            if not re.fullmatch(r"[+-]?[0-9]{1,6}", word):
                raise ValidationError(
                    _("“%(word)s” is not a whole number; write them like 4, 0."),
                    params={"word": word},
                )
        if len(words) > self.most:
            raise ValidationError(
                _("At most %(most)s numbers; split the part in two."), params={"most": self.most}
            )
        return tuple(map(int, words))

    def prepare_value(self, value: Any) -> Any:
        return ", ".join(map(str, value)) if isinstance(value, tuple) else value


def _count(label: Any, *, least: int = 0, most: int = MOST_STITCHES, **kwargs: Any) -> Any:
    limits = [
        MinValueValidator(least, _("At least %(limit_value)s.")),
        MaxValueValidator(most, _("At most %(limit_value)s.")),
    ]
    widget = forms.NumberInput(attrs={"inputmode": "numeric", "min": least, "max": most})
    return forms.IntegerField(
        label=label, required=False, widget=widget, validators=limits, **kwargs
    )


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


class PartForm(RowForm):
    asks = ("name", "start", "rows", "numbers", "states_end")

    kind = forms.ChoiceField(
        label=_("Kind"),
        required=False,
        choices=CountedPart.Kind.choices,
        initial=CountedPart.Kind.ROWS,
    )
    name = forms.CharField(label=_("Name of these rows"), required=False, max_length=80)
    start = _count(
        _("Stitches at the start"), help_text=_("Of a cast-on: the stitches that are cast on.")
    )
    rows = _count(_("Rows"), least=1, most=MAX_ROWS)
    numbers = NumbersField(
        label=_("Change in each row"),
        most=500,
        help_text=_(
            "More or fewer stitches, coming round in turn: 4, 0. "
            "Of short rows: the stitches that each of them works."
        ),
    )
    letters = forms.CharField(
        label=_("Letters"), required=False, max_length=40, initial="A", help_text=LETTERS_HINT
    )
    states_end = _count(_("Stitches the text promises at the end"))
    repeat_stitches = _count(_("Stitch repeat"), least=1)
    repeat_edge = _count(_("Plus edge stitches"))
    repeat_rows = _count(_("Rows of the repeat"), least=1, most=MAX_ROWS)

    def __init__(self, *args: Any, letters: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.known = letters

    def clean_letters(self) -> str:
        letters = re.sub(r"[\s,]+", "", str(self.cleaned_data["letters"])).upper()
        for letter in letters:
            if letter not in self.known:
                raise ValidationError(
                    _("This knit-along has no colour %(letter)s; its letters are %(known)s."),
                    params={"letter": letter, "known": self.known},
                )
        return letters or self.known[:1]

    def clean(self) -> dict[str, Any]:
        if not self.is_blank and not self.errors:
            if self.cleaned_data.get("start") is None:
                self.add_error("start", _("Say how many stitches these rows start from."))
            self._check_as_rows()
        return self.cleaned_data

    def _check_as_rows(self) -> None:
        if self.errors:
            return
        try:
            self.draft().as_part(str(_("These rows")))
        except ValueError as refused:
            self.add_error(None, str(refused))

    def draft(self) -> PartDraft:
        cleaned = self.cleaned_data
        kind, numbers = cleaned["kind"] or CountedPart.Kind.ROWS, cleaned["numbers"]
        is_short = kind == CountedPart.Kind.SHORT_ROWS
        return PartDraft(
            start=cleaned["start"],
            kind=kind,
            name=cleaned["name"],
            rows=len(numbers) if is_short else cleaned["rows"] or 1,
            changes=() if is_short else numbers,
            worked=numbers if is_short else (),
            letters=cleaned["letters"],
            repeat_stitches=cleaned["repeat_stitches"],
            repeat_edge=cleaned["repeat_edge"] or 0,
            repeat_rows=cleaned["repeat_rows"] or 1,
            states_end=cleaned["states_end"],
        )


class MeetingForm(RowForm):
    asks = ("first", "second", "technique")

    first = forms.ChoiceField(label=_("Letter"), required=False)
    second = forms.ChoiceField(label=_("Meets"), required=False)
    technique = forms.CharField(
        label=_("In which technique"),
        required=False,
        max_length=80,
        help_text=_("Like “slipped stitches”."),
    )
    needs = forms.ChoiceField(
        label=_("Contrast it needs"),
        required=False,
        choices=Meeting.Needs.choices,
        initial=Meeting.Needs.WORKABLE,
    )

    def __init__(self, *args: Any, letters: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        choices = [("", "\N{EN DASH}"), *((letter, letter) for letter in letters)]
        for name in ("first", "second"):
            self.fields[name].choices = choices  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        first, second = self.cleaned_data.get("first"), self.cleaned_data.get("second")
        if self.is_blank or self.errors:
            return self.cleaned_data
        if not first or not second:
            self.add_error("second", _("Name both letters that meet."))
        elif first == second:
            self.add_error("second", _("A letter cannot meet itself; name two letters."))
        return self.cleaned_data

    def draft(self) -> MeetingDraft:
        cleaned = self.cleaned_data
        first, second = sorted((cleaned["first"], cleaned["second"]))
        return MeetingDraft(
            first, second, cleaned["technique"], cleaned["needs"] or Meeting.Needs.WORKABLE
        )


class VideoForm(RowForm):
    asks = ("title", "url")

    title = forms.CharField(label=_("What the video shows"), required=False, max_length=120)
    url = forms.URLField(
        label=_("Address"),
        required=False,
        max_length=500,
        assume_scheme="https",
        help_text=_("Shown as a link beside the name of its site; nothing is loaded from there."),
    )

    def clean_url(self) -> str:
        url = str(self.cleaned_data["url"])
        if url and not url.startswith("https://"):
            raise ValidationError(_("Give an address that starts with https://."))
        return url

    def clean(self) -> dict[str, Any]:
        if not self.is_blank and not self.errors:
            for name, sentence in (
                ("title", _("Say what the video shows.")),
                ("url", _("Give the address of the video.")),
            ):
                if not self.cleaned_data.get(name):
                    self.add_error(name, sentence)
        return self.cleaned_data

    def draft(self) -> VideoDraft:
        return VideoDraft(self.cleaned_data["title"], self.cleaned_data["url"])


class RowList(BaseFormSet[Any]):
    """A list of rows; `kept` are those to be stored, in their order."""

    @property
    def kept(self) -> list[Any]:
        rows = [
            form for form in self.forms if not form.cleaned_data.get("DELETE") and not form.is_blank
        ]
        return sorted(rows, key=lambda form: form.cleaned_data.get("ORDER") or len(self.forms))

    def drafts(self) -> tuple[Any, ...]:
        return tuple(form.draft() for form in self.kept)


class MeetingList(RowList):
    def clean(self) -> None:
        if any(self.errors):
            return
        told: set[tuple[str, str, str]] = set()
        for meeting in self.drafts():
            place = meeting.first, meeting.second, meeting.technique
            if place in told:
                raise ValidationError(
                    _("%(first)s and %(second)s meet twice in one technique; take one out."),
                    params={"first": meeting.first, "second": meeting.second},
                )
            told.add(place)


def _rows(
    form: type[forms.Form], most: int, *, can_order: bool = False, kind: type[RowList] = RowList
) -> type[RowList]:
    rows = formset_factory(
        form,
        formset=kind,
        extra=0,
        can_delete=True,
        can_order=can_order,
        max_num=most,
        absolute_max=most + 1,
        validate_max=True,
    )
    return cast(type[RowList], rows)


WayRows = _rows(WayForm, MOST_WAYS)
PartRows = _rows(PartForm, MOST_PARTS)
MeetingRows = _rows(MeetingForm, MOST_MEETINGS, kind=MeetingList)
VideoRows = _rows(VideoForm, MOST_VIDEOS)


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


SectionRows = _rows(SectionForm, MOST_SECTIONS, can_order=True)

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
