"""What an organiser may send: a schedule of instants, and the content of a clue."""

from collections.abc import Iterable
from datetime import datetime
from decimal import Decimal
from typing import Any, cast

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile
from django.forms import BoundField

from kal.forms.wall_time import WallTimeField
from kal.models import KnitAlong
from palettes.photos import MAX_BYTES, MEGABYTE
from schedule.actions import Draft, find_problems
from schedule.errors import FileRefused
from schedule.files import CheckedFile, check_file
from schedule.models import Attachment, Clue
from schedule.pattern.calendar import Release, to_local, to_release

MOST_FILES = 20  # our choice: what a person still finds their way in
GRAMS = "grams_"


class ScheduleForm(forms.Form):
    """One wall time for each clue, in the knit-along's zone."""

    def __init__(
        self, *args: Any, knit_along: KnitAlong, clues: Iterable[Clue], now: datetime, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.zone, self.now = knit_along.zone, now
        self.clues = list(clues)
        for clue in self.clues:
            self.fields[_at(clue.number)] = WallTimeField(
                label=f"Clue {clue.number} goes out at",
                initial=self._stored(clue),
                required=not clue.is_released(now),
            )

    def field_of(self, clue: Clue) -> BoundField:
        return self[_at(clue.number)]

    def clean(self) -> dict[str, Any]:
        moves = self.moves
        for number, problem in find_problems(
            self.clues, {number: release.at for number, release in moves.items()}, now=self.now
        ).items():
            self.add_error(_at(number), problem)
        return self.cleaned_data

    @property
    def moves(self) -> dict[int, Release]:
        """The new releases by clue number, of those alone whose wall time was changed.

        One left as it was keeps its stored instant, to the second and on its side of an overlap.
        """
        typed = {clue: self.cleaned_data.get(_at(clue.number)) for clue in self.clues}
        return {
            clue.number: to_release(local, self.zone)
            for clue, local in typed.items()
            if local is not None and local != self._stored(clue)
        }

    def _stored(self, clue: Clue) -> datetime:
        return to_local(clue.release_at, self.zone).replace(second=0, microsecond=0, fold=0)


def _at(number: int) -> str:
    return f"at_{number}"


class ClueForm(forms.Form):
    """The content of one clue, with a file to add and, once it is out, what was put right."""

    began_from = forms.IntegerField(min_value=0, widget=forms.HiddenInput)
    title = forms.CharField(max_length=120, required=False)
    title_is_secret = forms.BooleanField(
        label="Keep the title secret until the clue is out", required=False
    )
    body = forms.CharField(
        label="Text",
        required=False,
        max_length=100_000,
        strip=False,
        help_text="Markdown: # for a heading, **bold**, lists, | tables |. A line break stays one.",
        widget=forms.Textarea(attrs={"rows": 22, "spellcheck": "true"}),
    )
    kept_files = forms.TypedMultipleChoiceField(
        label="Files shown with the clue",
        required=False,
        coerce=int,
        widget=forms.CheckboxSelectMultiple,
        help_text="Untick a file to take it out of the clue.",
    )
    new_file = forms.FileField(
        label="Add a PDF or an image",
        required=False,
        help_text=f"Up to {MAX_BYTES // MEGABYTE} MB. An image is kept upright and without its "
        "place and camera data; a PDF with a password or scripts is refused.",
        widget=forms.FileInput(attrs={"accept": "application/pdf,image/*"}),
    )
    new_alt = forms.CharField(
        label="What the new image shows",
        required=False,
        max_length=300,
        help_text="For whoever cannot see it: what a chart says, not that it is a chart. "
        "Required for an image.",
    )
    note = forms.CharField(
        label="What you put right",
        required=False,
        max_length=300,
        help_text="One sentence, mailed to participants and shown on the clue as errata.",
    )

    def __init__(self, *args: Any, clue: Clue, is_released: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.clue = clue
        if not is_released:
            del self.fields["note"]
        uploaded = list(clue.attachments.all())
        files = cast(forms.TypedMultipleChoiceField, self.fields["kept_files"])
        files.choices = [(file.pk, _words_for(file)) for file in uploaded]
        for letter in clue.knit_along.letters:
            self.fields[GRAMS + letter] = forms.DecimalField(
                label=f"{letter}, grams",
                required=False,
                min_value=Decimal(0),
                max_digits=6,
                decimal_places=1,
                error_messages={"min_value": "Grams cannot be less than zero."},
                widget=forms.NumberInput(attrs={"inputmode": "decimal", "step": "0.1"}),
            )

    @property
    def main_fields(self) -> list[BoundField]:
        return [self[name] for name in ("title", "title_is_secret", "body")]

    @property
    def gram_fields(self) -> list[BoundField]:
        return [self[name] for name in self.fields if name.startswith(GRAMS)]

    @property
    def has_files(self) -> bool:
        return bool(cast(forms.TypedMultipleChoiceField, self.fields["kept_files"]).choices)

    @property
    def upload_fields(self) -> list[BoundField]:
        return [self[name] for name in ("new_file", "new_alt")]

    def clean_body(self) -> str:
        return str(self.cleaned_data["body"]).replace("\r\n", "\n").rstrip()

    def clean_new_file(self) -> CheckedFile | None:
        upload: UploadedFile[Any] | None = self.cleaned_data["new_file"]
        if upload is None:
            return None
        if self.clue.attachments.count() >= MOST_FILES:
            raise ValidationError(f"A clue keeps at most {MOST_FILES} files; put some together.")
        try:
            return check_file(upload, upload.name or "", upload.size or 0)
        except FileRefused as refused:
            raise ValidationError(str(refused), code="refused") from None

    def clean(self) -> dict[str, Any]:
        file: CheckedFile | None = self.cleaned_data.get("new_file")
        is_image = file is not None and file.kind == Attachment.Kind.IMAGE
        if is_image and not self.cleaned_data.get("new_alt"):
            self.add_error(
                "new_alt", "Say what the image shows, then choose the file once more and save."
            )
        return self.cleaned_data

    @property
    def usable_file(self) -> CheckedFile | None:
        """The new file if nothing is wrong with it, whatever is wrong elsewhere."""
        if "new_alt" in self.errors:
            return None
        return cast(CheckedFile | None, self.cleaned_data.get("new_file"))

    def draft(self) -> Draft:
        """Return what the valid form asks to be stored, but for a new file."""
        cleaned = self.cleaned_data
        return Draft(
            title=cleaned["title"],
            title_is_secret=cleaned["title_is_secret"],
            body=cleaned["body"],
            uses={
                name.removeprefix(GRAMS): grams
                for name, grams in cleaned.items()
                if name.startswith(GRAMS) and grams is not None
            },
            attachments=frozenset(cleaned["kept_files"]),
            note=cleaned.get("note", ""),
        )


def _words_for(file: Attachment) -> str:
    about = f": {file.alt}" if file.alt else ""
    return f"{file.name}{about}"


def initial_of(draft: Draft, began_from: int) -> dict[str, object]:
    """Return the initial values of a ClueForm that starts from what is stored."""
    return {
        "began_from": began_from,
        "title": draft.title,
        "title_is_secret": draft.title_is_secret,
        "body": draft.body,
        "kept_files": sorted(draft.attachments),
        **{GRAMS + letter: grams for letter, grams in draft.uses.items()},
    }
