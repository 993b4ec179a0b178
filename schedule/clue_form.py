"""What an organiser may send as the content of a clue."""

from decimal import Decimal
from typing import Any, cast

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile
from django.forms import BoundField
from django.utils.text import format_lazy
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from kal.forms.numbers import NumberField
from palettes.photos import MAX_BYTES, MEGABYTE
from schedule.drafts import Draft
from schedule.errors import FileRefused
from schedule.files import CheckedFile, check_file
from schedule.models import Attachment, Clue
from schedule.section_forms import row_lists, section_initial

MOST_FILES = 20  # our choice: what a person still finds their way in
GRAMS, USE_NOTE, SHOWS = "grams_", "use_note_", "shows_"


class ClueForm(forms.Form):
    """The content of one clue, with a file to add and, once it is out, what was put right."""

    began_from = forms.IntegerField(min_value=0, widget=forms.HiddenInput)
    title = forms.CharField(label=_("Title"), max_length=120, required=False)
    title_is_secret = forms.BooleanField(
        label=_("Keep the title secret until the clue is out"), required=False
    )
    body = forms.CharField(
        label=_("Opening text"),
        required=False,
        max_length=100_000,
        strip=False,
        help_text=_(
            "Markdown: # for a heading, **bold**, lists, | tables |. A line break stays one. "
            "What has its own heading or another way to knit it goes into a section below."
        ),
        widget=forms.Textarea(attrs={"rows": 14, "spellcheck": "true"}),
    )
    techniques = forms.CharField(
        label=_("Techniques"),
        required=False,
        max_length=300,
        help_text=_("With commas between them; those of the ways above are added by themselves."),
    )
    kept_files = forms.TypedMultipleChoiceField(
        label=_("Files shown with the clue"),
        required=False,
        coerce=int,
        widget=forms.CheckboxSelectMultiple,
        help_text=_("Untick a file to take it out of the clue."),
    )
    new_file = forms.FileField(
        label=_("Add a PDF or an image"),
        required=False,
        help_text=format_lazy(
            _(
                "Up to {max_bytes} MB. An image is kept upright and without its place and "
                "camera data; a PDF with a password or scripts is refused."
            ),
            max_bytes=MAX_BYTES // MEGABYTE,
        ),
        widget=forms.FileInput(attrs={"accept": "application/pdf,image/*"}),
    )
    new_alt = forms.CharField(
        label=_("What the new image shows"),
        required=False,
        max_length=300,
        help_text=_(
            "For whoever cannot see it: what a chart says, not that it is a chart. "
            "Required for an image."
        ),
    )
    note = forms.CharField(
        label=_("What you put right"),
        required=False,
        max_length=300,
        help_text=_("One sentence, mailed to participants and shown on the clue as errata."),
    )

    def __init__(
        self,
        *args: Any,
        clue: Clue,
        is_released: bool,
        rows: dict[str, list[dict[str, Any]]] | None = None,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.clue = clue
        if not is_released:
            del self.fields["note"]
        self.uploaded = list(clue.attachments.all())
        files = cast(forms.TypedMultipleChoiceField, self.fields["kept_files"])
        files.choices = [(file.pk, file.name) for file in self.uploaded]
        self._ask_what_images_show()
        self._ask_for_yarn(clue.knit_along.letters)
        self.rows = row_lists(
            self.data if self.is_bound else None, rows or {}, clue.knit_along.letters
        )

    def _ask_what_images_show(self) -> None:
        for file in self.uploaded:
            if file.kind == Attachment.Kind.IMAGE:
                self.fields[f"{SHOWS}{file.pk}"] = forms.CharField(
                    label=_("What %(name)s shows") % {"name": file.name},
                    required=False,
                    max_length=300,
                    initial=file.alt,
                )

    def _ask_for_yarn(self, letters: str) -> None:
        for letter in letters:
            self.fields[GRAMS + letter] = NumberField(
                label=_("%(letter)s, grams") % {"letter": letter},
                required=False,
                min_value=Decimal(0),
                max_digits=6,
                decimal_places=1,
                error_messages={"min_value": _("Grams cannot be less than zero.")},
                widget=forms.NumberInput(attrs={"inputmode": "decimal", "step": "0.1"}),
            )
            self.fields[USE_NOTE + letter] = forms.CharField(
                label=_("%(letter)s, a word on it") % {"letter": letter},
                required=False,
                max_length=120,
            )

    def is_valid(self) -> bool:
        return super().is_valid() and all(rows.is_valid() for rows in self.rows.values())

    @property
    def main_fields(self) -> list[BoundField]:
        return [self[name] for name in ("title", "title_is_secret", "body")]

    @property
    def yarn_fields(self) -> list[BoundField]:
        return [self[name] for name in self.fields if name.startswith((GRAMS, USE_NOTE))]

    @property
    def description_fields(self) -> list[BoundField]:
        return [self[name] for name in self.fields if name.startswith(SHOWS)]

    @property
    def has_files(self) -> bool:
        return bool(self.uploaded)

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
            raise ValidationError(
                gettext("A clue keeps at most {most_files} files; put some together.").format(
                    most_files=MOST_FILES
                )
            )
        try:
            return check_file(upload, upload.name or "", upload.size or 0)
        except FileRefused as refused:
            raise ValidationError(str(refused), code="refused") from None

    def clean(self) -> dict[str, Any]:
        file: CheckedFile | None = self.cleaned_data.get("new_file")
        is_image = file is not None and file.kind == Attachment.Kind.IMAGE
        if is_image and not self.cleaned_data.get("new_alt"):
            self.add_error(
                "new_alt",
                gettext("Say what the image shows, then choose the file once more and save."),
            )
        for kept in self.cleaned_data.get("kept_files", ()):
            name = f"{SHOWS}{kept}"
            if name in self.cleaned_data and not self.cleaned_data[name]:
                self.add_error(name, _("Say what the image shows, for whoever cannot see it."))
        for letter in self.clue.knit_along.letters:
            is_bare = self.cleaned_data.get(GRAMS + letter) is None
            if is_bare and self.cleaned_data.get(USE_NOTE + letter):
                self.add_error(GRAMS + letter, _("Say the grams as well."))
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
        kept = frozenset(cleaned["kept_files"])
        return Draft(
            title=cleaned["title"],
            title_is_secret=cleaned["title_is_secret"],
            body=cleaned["body"],
            uses={
                letter: grams
                for letter, grams in self._cleaned_by(GRAMS).items()
                if grams is not None
            },
            attachments=kept,
            note=cleaned.get("note", ""),
            sections=self.rows["sections"].drafts(),
            meetings=tuple(
                sorted(self.rows["meetings"].drafts(), key=lambda m: (m.first, m.second))
            ),
            videos=self.rows["videos"].drafts(),
            techniques=tidy_list(cleaned["techniques"]),
            use_notes={
                letter: words for letter, words in self._cleaned_by(USE_NOTE).items() if words
            },
            descriptions={
                int(pk): words for pk, words in self._cleaned_by(SHOWS).items() if int(pk) in kept
            },
        )

    def _cleaned_by(self, prefix: str) -> dict[str, Any]:
        return {
            name.removeprefix(prefix): value
            for name, value in self.cleaned_data.items()
            if name.startswith(prefix)
        }


def tidy_list(text: str) -> str:
    """Return words between commas with one comma and one space between each, none empty."""
    return ", ".join(word for part in text.split(",") if (word := " ".join(part.split())))


def initial_of(draft: Draft, began_from: int) -> dict[str, object]:
    """Return the initial values of a ClueForm that starts from what is stored."""
    return {
        "began_from": began_from,
        "title": draft.title,
        "title_is_secret": draft.title_is_secret,
        "body": draft.body,
        "techniques": draft.techniques,
        "kept_files": sorted(draft.attachments),
        **{GRAMS + letter: grams for letter, grams in draft.uses.items()},
        **{USE_NOTE + letter: words for letter, words in draft.use_notes.items()},
        **{f"{SHOWS}{pk}": words for pk, words in draft.descriptions.items()},
    }


def rows_of(draft: Draft) -> dict[str, list[dict[str, Any]]]:
    """Return what the lists of a ClueForm start from."""
    return {
        "sections": section_initial(draft.sections),
        "meetings": [vars(meeting) for meeting in draft.meetings],
        "videos": [vars(video) for video in draft.videos],
    }
