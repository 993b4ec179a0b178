"""What goes with a clue's sections: the letters that meet, and videos on other sites."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from schedule.clue_rows import RowForm, RowList, list_of
from schedule.drafts import MeetingDraft, VideoDraft
from schedule.models import Meeting

MOST_MEETINGS, MOST_VIDEOS = 20, 8  # our choice: what one clue still holds in a form


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


MeetingRows = list_of(MeetingForm, MOST_MEETINGS, kind=MeetingList)
VideoRows = list_of(VideoForm, MOST_VIDEOS)
